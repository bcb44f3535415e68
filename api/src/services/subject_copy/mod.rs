//! An athlete's complete copy: all that the club keeps of her, and what is left out and why.
//!
//! JSON and CSV are made of the one [`AthleteCopy`], and what both may hold is said by the one schema ([`schema()`]), which comes from
//! the same catalogue as the copy.

mod schema;

use jiff::Timestamp;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use utoipa::ToSchema;

pub use schema::{SCHEMA_PATH, schema};

use super::reach;
use super::retention::words;
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::store::subject_records::catalogue::{NOT_OF_ATHLETES, Told, tables};
use crate::store::subject_records::{self, Records};
use crate::store::{Conn, Known, Tenant};

/// What the copy is and is not, in words.
const NOTE: &str = "All that the club keeps of the athlete in this service, earlier versions included, as it was when the copy was \
    made. Other people are told by their role. What local law asks for beyond this copy is for the club to say.";

/// All that is kept of an athlete.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "schema": "/schemas/athlete-copy", "club_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c", "purpose": "asked_by_guardian", "made_at": "2026-11-09T07:00:00Z",
    "note": "All that the club keeps of the athlete in this service.",
    "record_note": "The club keeps these as its own records; local law decides what that means for keeping and showing them.",
    "records": {"athletes": [{"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c", "created_at": "2026-01-02T09:00:00Z"}]},
    "left_out": [{"table": "athletes", "column": "club_id", "reason": "the same for the whole copy, where it stands once"}]}))]
pub struct AthleteCopy {
    /// Where the JSON Schema of this copy is.
    pub schema: &'static str,
    /// The club.
    pub club_id: ClubId,
    /// The athlete.
    pub athlete_id: AthleteId,
    /// What the copy was asked for.
    pub purpose: &'static str,
    /// When it was made.
    #[schema(value_type = String, format = DateTime)]
    pub made_at: Timestamp,
    /// What it is.
    pub note: &'static str,
    /// What the club calls its records, and that local law decides.
    pub record_note: &'static str,
    /// A list of records for each table; the schema says which fields they have and what these mean.
    #[serde(serialize_with = "by_table")]
    #[schema(value_type = Object)]
    pub records: Vec<Records>,
    /// What is left out, and why.
    pub left_out: Vec<LeftOut>,
}

/// A column that is left out, or a table where no column is named.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct LeftOut {
    /// The table.
    pub table: &'static str,
    /// The column; null for the whole table.
    #[schema(value_type = Option<String>)]
    pub column: Option<&'static str>,
    /// Why.
    pub reason: &'static str,
}

/// Reads an athlete's copy; for who answers for the whole club. To be called in a snapshot.
///
/// # Errors
/// 404 without her.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    (purpose, made_at): (&'static str, Timestamp),
) -> Result<AthleteCopy, Problem> {
    reach::athlete_ever(conn, tenant, athlete_id)?;
    Ok(AthleteCopy {
        schema: SCHEMA_PATH,
        club_id: tenant.club_id(),
        athlete_id,
        purpose,
        made_at,
        note: NOTE,
        record_note: words::of_club(conn, tenant, Known::Now)?,
        records: subject_records::read(conn, tenant, athlete_id)?,
        left_out: left_out(),
    })
}

fn left_out() -> Vec<LeftOut> {
    let columns = tables().flat_map(|table| {
        let left_out = table.columns.iter();
        let left_out = left_out.filter(|column| column.told == Told::LeftOut);
        left_out.map(|column| LeftOut {
            table: table.name,
            column: Some(column.name),
            reason: column.means,
        })
    });
    let whole = NOT_OF_ATHLETES.iter().map(|table| LeftOut {
        table: table.name,
        column: None,
        reason: table.why,
    });
    columns.chain(whole).collect()
}

/// As an object with a list of rows for each table, in the catalogue's order.
fn by_table<S: Serializer>(records: &[Records], to: S) -> Result<S::Ok, S::Error> {
    to.collect_map(records.iter().map(|records| (records.table, Rows(records))))
}

struct Rows<'a>(&'a Records);

impl Serialize for Rows<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let fields = &self.0.fields;
        let rows = self.0.rows.iter();
        to.collect_seq(rows.map(|values| Row { fields, values }))
    }
}

struct Row<'a> {
    fields: &'a [&'static str],
    values: &'a [serde_json::Value],
}

impl Serialize for Row<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut row = to.serialize_map(Some(self.fields.len()))?;
        for (field, value) in self.fields.iter().zip(self.values) {
            row.serialize_entry(field, value)?;
        }
        row.end()
    }
}
