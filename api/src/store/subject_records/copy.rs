//! Reads everything that is kept of an athlete: one query a table.

use diesel::prelude::*;
use diesel::sql_types::Text;
use jiff::Timestamp;
use serde_json::Value;
use uuid::Uuid;

use super::catalogue::{Form, Table, tables};
use super::sql::Whose;
use crate::ids::AthleteId;
use crate::store::backend::each_backend;
use crate::store::seal::{ClubKeys, Place};
use crate::store::types::Sealed;
use crate::store::{Conn, StoreError, Tenant, club_keys};

/// An athlete's rows of one table.
#[derive(Debug, Clone, PartialEq)]
pub struct Records {
    /// The table.
    pub table: &'static str,
    /// The fields of a row, in order.
    pub fields: Vec<&'static str>,
    /// Each row's values, in the order of the fields.
    pub rows: Vec<Vec<Value>>,
}

#[derive(QueryableByName)]
pub(super) struct Line {
    #[diesel(sql_type = Text)]
    pub(super) line: String,
}

/// A row as it was read: a text or nothing for each column.
type Cells = Vec<Option<String>>;

/// Everything that is kept of an athlete, table by table, with sealed values opened. To be called in a snapshot.
///
/// # Errors
/// `NotOpened` when a sealed value does not open, and those of the database.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Vec<Records>, StoreError> {
    tables()
        .map(|table| of_table(conn, tenant, athlete_id, table))
        .collect()
}

fn of_table(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    table: &'static Table,
) -> Result<Records, StoreError> {
    let whose = Whose::new(conn, tenant, athlete_id);
    let columns: Vec<(&'static str, Form)> = table
        .told()
        .map(|(column, _, form)| (column.name, form))
        .collect();
    let query = whose.select(table, columns.iter().copied());
    let rows = cells(conn, &query)?;
    let keys = keys(conn, tenant, &columns, &rows)?;
    let open = |row: Cells| opened(&columns, &row, &keys);
    Ok(Records {
        table: table.name,
        fields: table.told().map(|(_, field, _)| field).collect(),
        rows: rows.into_iter().map(open).collect::<Result<_, _>>()?,
    })
}

/// Runs a query of [`Whose::select`].
pub(super) fn cells(conn: &mut Conn, query: &str) -> Result<Vec<Cells>, StoreError> {
    let lines: Vec<Line> = each_backend!(conn, |c| diesel::sql_query(query).load(c))?;
    let row = |Line { line }: Line| serde_json::from_str(&line).map_err(|error| unreadable(&error));
    lines.into_iter().map(row).collect()
}

/// The keys that the sealed values of rows are under.
fn keys(
    conn: &mut Conn,
    tenant: Tenant,
    columns: &[(&'static str, Form)],
    rows: &[Cells],
) -> Result<std::sync::Arc<ClubKeys>, StoreError> {
    let mut newest = None;
    for row in rows {
        for ((_, form), cell) in columns.iter().zip(row) {
            if let (Form::Sealed { .. }, Some(hex)) = (form, cell) {
                newest = newest.max(sealed(hex)?.number());
            }
        }
    }
    club_keys::with(conn, tenant, newest)
}

fn opened(
    columns: &[(&'static str, Form)],
    row: &[Option<String>],
    keys: &ClubKeys,
) -> Result<Vec<Value>, StoreError> {
    let cell = |name: &str| {
        let place = columns.iter().position(|(column, _)| *column == name);
        place.and_then(|place| row.get(place)?.as_deref())
    };
    let value = |(name, form): &(&'static str, Form)| match (cell(name), *form) {
        (None, _) => Ok(Value::Null),
        (Some(hex), Form::Sealed { place, row }) => {
            let row = id(cell(row).unwrap_or_default())?;
            let place = Place {
                column: place,
                row: row.as_bytes(),
            };
            let octets = keys.open(place, &sealed(hex)?)?;
            let text = String::from_utf8(octets);
            text.map(Value::from)
                .map_err(|_| StoreError::NotOpened(place.column))
        }
        (Some(text), form) => plain(text, form),
    };
    columns.iter().map(value).collect()
}

/// A value that was not sealed, in the API's own form.
fn plain(text: &str, form: Form) -> Result<Value, StoreError> {
    Ok(match form {
        Form::Id => id(text)?.hyphenated().to_string().into(),
        Form::Instant => {
            let nanosecond = i128::from(number(text)?) * 1_000;
            let instant = Timestamp::from_nanosecond(nanosecond);
            instant
                .map_err(|error| unreadable(&error))?
                .to_string()
                .into()
        }
        Form::Whole => number(text)?.into(),
        Form::Half => halves(number(text)?),
        Form::Truth => (number(text)? != 0).into(),
        Form::Document => serde_json::from_str(text).map_err(|error| unreadable(&error))?,
        Form::Day | Form::Text | Form::Sealed { .. } => text.into(),
    })
}

/// Half of a number: exact, since loads and ratings are far below 2⁵².
fn halves(number: i64) -> Value {
    (number as f64 / 2.0).into()
}

fn id(hex: &str) -> Result<Uuid, StoreError> {
    Uuid::parse_str(hex).map_err(|error| unreadable(&error))
}

fn number(text: &str) -> Result<i64, StoreError> {
    text.parse().map_err(|error| unreadable(&error))
}

fn sealed(hex: &str) -> Result<Sealed, StoreError> {
    let octet = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok();
    let octets: Option<Vec<u8>> = hex.as_bytes().chunks(2).map(octet).collect();
    octets
        .map(Sealed)
        .ok_or_else(|| unreadable(&"not hexadecimal"))
}

/// What was read stays out of the error, which is logged.
fn unreadable(error: &dyn std::fmt::Display) -> StoreError {
    StoreError::Internal(format!(
        "a value of an athlete's copy cannot be read: {error}"
    ))
}
