//! Queries made of the catalogue: names of tables and columns are the catalogue's own, and the ids of club and athlete are the only
//! values in them.

use uuid::Uuid;

use super::catalogue::{Form, Hers, Table};
use crate::ids::AthleteId;
use crate::store::db::Link;
use crate::store::{Conn, Tenant};

/// How a database writes what the two write differently.
#[derive(Debug, Clone, Copy)]
pub(super) enum Dialect {
    Sqlite,
    Postgres,
}

impl Dialect {
    pub(super) fn of(conn: &Conn) -> Self {
        match conn.link {
            Link::Sqlite(_) => Self::Sqlite,
            Link::Postgres(_) => Self::Postgres,
        }
    }

    /// An id as a value: its text holds nothing but digits and hyphens.
    pub(super) fn id(self, id: Uuid) -> String {
        match self {
            Self::Sqlite => format!("x'{}'", id.simple()),
            Self::Postgres => format!("'{}'::uuid", id.hyphenated()),
        }
    }

    /// The text of a column's id, as documents write it.
    fn id_in_documents(self, column: &str) -> String {
        match self {
            Self::Postgres => format!("{column}::text"),
            Self::Sqlite => {
                let hex = format!("lower(hex({column}))");
                let parts = [(1, 8), (9, 4), (13, 4), (17, 4), (21, 12)];
                let parts = parts.map(|(from, length)| format!("substr({hex}, {from}, {length})"));
                parts.join(" || '-' || ")
            }
        }
    }

    /// A column's value as a text that both databases write alike: ids and sealed values in hexadecimal, instants in microseconds of
    /// the Unix epoch, yes and no as 1 and 0.
    pub(super) fn text(self, column: &str, form: Form) -> String {
        match (self, form) {
            // `hex` makes a text of null too.
            (Self::Sqlite, Form::Id | Form::Sealed { .. }) => format!("nullif(hex({column}), '')"),
            (Self::Sqlite, _) => format!("CAST({column} AS TEXT)"),
            (Self::Postgres, Form::Sealed { .. }) => format!("encode({column}, 'hex')"),
            (Self::Postgres, Form::Instant) => {
                format!("CAST(CAST(extract(epoch FROM {column}) * 1000000 AS bigint) AS text)")
            }
            (Self::Postgres, Form::Day) => format!("to_char({column}, 'YYYY-MM-DD')"),
            (Self::Postgres, Form::Truth) => format!("CAST(CAST({column} AS integer) AS text)"),
            (Self::Postgres, _) => format!("CAST({column} AS text)"),
        }
    }

    /// The columns of a row as one text: a JSON list of texts and nulls.
    fn row<'a>(self, columns: impl Iterator<Item = (&'a str, Form)>) -> String {
        let columns: Vec<String> = columns
            .map(|(column, form)| self.text(column, form))
            .collect();
        let columns = columns.join(", ");
        match self {
            Self::Sqlite => format!("json_array({columns})"),
            Self::Postgres => format!("CAST(json_build_array({columns}) AS text)"),
        }
    }

    /// The place of a bound text in a column of this form.
    pub(super) fn bound(self, form: Form) -> &'static str {
        match (self, form) {
            (Self::Postgres, Form::Document) => "CAST($1 AS jsonb)",
            _ => "$1",
        }
    }

    /// The sixth day after the one in a column.
    pub(super) fn sunday(self, monday: &str) -> String {
        match self {
            Self::Sqlite => format!("date({monday}, '+6 days')"),
            Self::Postgres => format!("({monday} + 6)"),
        }
    }
}

/// An athlete of a club, as queries name her.
#[derive(Debug, Clone, Copy)]
pub(super) struct Whose {
    pub(super) dialect: Dialect,
    club: Uuid,
    athlete: Uuid,
}

impl Whose {
    pub(super) fn new(conn: &Conn, tenant: Tenant, athlete_id: AthleteId) -> Self {
        Self {
            dialect: Dialect::of(conn),
            club: tenant.club_id().uuid(),
            athlete: athlete_id.uuid(),
        }
    }

    /// The club's id as a value.
    pub(super) fn club(self) -> String {
        self.dialect.id(self.club)
    }

    /// The athlete's id as a value.
    pub(super) fn athlete(self) -> String {
        self.dialect.id(self.athlete)
    }

    /// Her rows of a table, as a condition.
    pub(super) fn rows(self, table: &Table) -> String {
        let (name, club, athlete) = (table.name, self.club(), self.athlete());
        let hers = match table.hers {
            Hers::Own => format!("{name}.athlete_id = {athlete}"),
            Hers::OwnAnd(column) => {
                format!("({name}.athlete_id = {athlete} OR {name}.{column} = {athlete})")
            }
            Hers::Through { column, of } => format!(
                "{name}.{column} IN (SELECT {column} FROM {} WHERE {})",
                of.name,
                self.rows(of)
            ),
            Hers::Listed => format!(
                "CAST({name}.athletes AS text) LIKE '%{}%'",
                self.athlete.hyphenated()
            ),
            Hers::Notified => format!(
                "EXISTS (SELECT 1 FROM flags WHERE flags.club_id = {club} AND flags.athlete_id = {athlete} \
                 AND flags.monday = {name}.monday AND CAST({name}.payload AS text) LIKE '%' || {} || '%')",
                self.dialect.id_in_documents("flags.flag_id")
            ),
        };
        format!("{name}.club_id = {club} AND {hers}")
    }

    /// Reads columns of her rows of a table, in the catalogue's order.
    pub(super) fn select<'a>(
        self,
        table: &Table,
        columns: impl Iterator<Item = (&'a str, Form)>,
    ) -> String {
        format!(
            "SELECT {} AS line FROM {} WHERE {} ORDER BY {}",
            self.dialect.row(columns),
            table.name,
            self.rows(table),
            table.order.join(", ")
        )
    }
}
