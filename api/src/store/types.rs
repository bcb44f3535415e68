//! How the things we store are written on each database.
//!
//! | SQL type   | PostgreSQL    | SQLite                | Rust                    |
//! |------------|---------------|-----------------------|-------------------------|
//! | `Id`       | `uuid`        | 16-byte blob          | the types of `crate::ids` |
//! | `Instant`  | `timestamptz` | integer microseconds  | `jiff::Timestamp`       |
//! | `Day`      | `date`        | text `YYYY-MM-DD`     | `jiff::civil::Date`     |
//! | `Document` | `jsonb`       | text                  | `serde_json::Value`     |
//! | `Code`     | `text`        | text                  | enums with `code()`     |
//!
//! Types of other crates go through the wrapper [`Sql`], which stays inside the store.

use std::io::Write;

use diesel::backend::Backend;
use diesel::deserialize::{self, FromSql, FromStaticSqlRow, Queryable};
use diesel::expression::AsExpression;
// What diesel's own derive of `AsExpression` expands to; the derive cannot be put on types from
// outside this module.
use diesel::internal::derives::as_expression::Bound;
use diesel::pg::data_types::{PgDate, PgTimestamp};
use diesel::pg::{Pg, PgValue};
use diesel::query_builder::QueryId;
use diesel::serialize::{self, IsNull, Output, ToSql};
use diesel::sql_types::{
    BigInt, Binary, Date as PgDay, Jsonb, Nullable, SqlType, Text, Timestamptz,
};
use diesel::sqlite::{Sqlite, SqliteValue};
use jiff::civil::{Date, date};
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Basis, GivenBy, Kind, Setting};
use serde_json::Value;

use super::codes::{AbsenceCategory, Certainty, FlagState, MembershipRole};
use crate::ids::{
    AbsenceId, AcknowledgementId, AthleteId, AuditId, ClubId, FlagId, MembershipId, RestDayId,
    SessionId, SquadId,
};

/// An identifier.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 2950, array_oid = 2951),
    sqlite_type(name = "Binary")
)]
pub struct Id;

/// An instant, to the microsecond.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 1184, array_oid = 1185),
    sqlite_type(name = "Long")
)]
pub struct Instant;

/// A civil date.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 1082, array_oid = 1182),
    sqlite_type(name = "Text")
)]
pub struct Day;

/// JSON that the database never looks into.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 3802, array_oid = 3807),
    sqlite_type(name = "Text")
)]
pub struct Document;

/// A small enumeration as its stable code.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(postgres_type(oid = 25, array_oid = 1009), sqlite_type(name = "Text"))]
pub struct Code;

/// A value of another crate on its way to or from the database.
///
/// Diesel's traits cannot be implemented for types of other crates, so rows name this wrapper in
/// `serialize_as` and `deserialize_as` and hold the plain type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sql<T>(pub(super) T);

impl<T> From<T> for Sql<T> {
    fn from(value: T) -> Self {
        Self(value)
    }
}

/// Lets values of a Rust type be bound to columns of an SQL type, and read from them.
macro_rules! sql_type {
    ($sql:ty: $($rust:ty),+) => {$(
        impl AsExpression<$sql> for $rust {
            type Expression = Bound<$sql, Self>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl<'a> AsExpression<$sql> for &'a $rust {
            type Expression = Bound<$sql, &'a $rust>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl AsExpression<Nullable<$sql>> for $rust {
            type Expression = Bound<Nullable<$sql>, Self>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl<DB: Backend> ToSql<Nullable<$sql>, DB> for $rust
        where
            Self: ToSql<$sql, DB>,
        {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, DB>) -> serialize::Result {
                ToSql::<$sql, DB>::to_sql(self, out)
            }
        }

        impl<DB: Backend> Queryable<$sql, DB> for $rust
        where
            Self: FromSql<$sql, DB>,
        {
            type Row = Self;

            fn build(row: Self) -> deserialize::Result<Self> {
                Ok(row)
            }
        }
    )+};
}

/// As `sql_type!` for types of other crates, in their wrapper, and for optional ones.
macro_rules! foreign_type {
    ($sql:ty: $($rust:ty),+) => {$(
        sql_type!($sql: Sql<$rust>);

        impl From<Sql<$rust>> for $rust {
            fn from(value: Sql<$rust>) -> Self {
                value.0
            }
        }

        impl AsExpression<Nullable<$sql>> for Sql<Option<$rust>> {
            type Expression = Bound<Nullable<$sql>, Option<Sql<$rust>>>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self.0.map(Sql))
            }
        }

        impl<DB: Backend> Queryable<Nullable<$sql>, DB> for Sql<Option<$rust>>
        where
            Option<Sql<$rust>>: FromStaticSqlRow<Nullable<$sql>, DB>,
        {
            type Row = Option<Sql<$rust>>;

            fn build(row: Self::Row) -> deserialize::Result<Self> {
                Ok(Self(row.map(|value| value.0)))
            }
        }

        impl From<Sql<Option<$rust>>> for Option<$rust> {
            fn from(value: Sql<Option<$rust>>) -> Self {
                value.0
            }
        }
    )+};
}

sql_type!(Id: ClubId, SquadId, AthleteId, MembershipId, SessionId, RestDayId, AbsenceId, FlagId, AcknowledgementId, AuditId);
foreign_type!(Instant: Timestamp);
foreign_type!(Day: Date);
foreign_type!(Document: Value);
foreign_type!(Code: Setting, Kind, Basis, GivenBy, MembershipRole, AbsenceCategory, FlagState, Certainty);

macro_rules! id {
    ($($id:ty),+) => {$(
        impl ToSql<Id, Pg> for $id {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
                out.write_all(self.uuid().as_bytes())?;
                Ok(IsNull::No)
            }
        }

        impl FromSql<Id, Pg> for $id {
            fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
                Ok(uuid::Uuid::from_slice(value.as_bytes())?.into())
            }
        }

        impl ToSql<Id, Sqlite> for $id {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
                out.set_value(self.uuid().as_bytes().to_vec());
                Ok(IsNull::No)
            }
        }

        impl FromSql<Id, Sqlite> for $id {
            fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
                let bytes = <Vec<u8> as FromSql<Binary, Sqlite>>::from_sql(value)?;
                Ok(uuid::Uuid::from_slice(&bytes)?.into())
            }
        }
    )+};
}

id!(
    ClubId,
    SquadId,
    AthleteId,
    MembershipId,
    SessionId,
    RestDayId,
    AbsenceId,
    FlagId,
    AcknowledgementId,
    AuditId
);

macro_rules! code {
    ($($code:ty),+) => {$(
        impl ToSql<Code, Pg> for Sql<$code> {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
                out.write_all(self.0.code().as_bytes())?;
                Ok(IsNull::No)
            }
        }

        impl FromSql<Code, Pg> for Sql<$code> {
            fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
                let text = std::str::from_utf8(value.as_bytes())?;
                <$code>::parse(text).map(Self).ok_or_else(|| unknown_code(text))
            }
        }

        impl ToSql<Code, Sqlite> for Sql<$code> {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
                out.set_value(self.0.code());
                Ok(IsNull::No)
            }
        }

        impl FromSql<Code, Sqlite> for Sql<$code> {
            fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
                let text = <String as FromSql<Text, Sqlite>>::from_sql(value)?;
                <$code>::parse(&text).map(Self).ok_or_else(|| unknown_code(&text))
            }
        }
    )+};
}

code!(
    Setting,
    Kind,
    Basis,
    GivenBy,
    MembershipRole,
    AbsenceCategory,
    FlagState,
    Certainty
);

fn unknown_code(text: &str) -> Box<dyn std::error::Error + Send + Sync> {
    format!("{text:?} is not a code of this version").into()
}

/// The last whole microsecond at or before an instant: what a stored instant reads back as.
///
/// Compare what came in with what is stored only after passing it through here.
pub fn whole_microsecond(instant: Timestamp) -> Timestamp {
    from_microsecond(microsecond(instant)).unwrap_or(instant)
}

/// By way of nanoseconds: `Timestamp::from_microsecond` refuses the last second it can hold.
fn from_microsecond(microsecond: i64) -> Result<Timestamp, jiff::Error> {
    Timestamp::from_nanosecond(i128::from(microsecond) * 1_000)
}

fn microsecond(instant: Timestamp) -> i64 {
    // A Timestamp covers the years -9999 to 9999, which is far inside 64 bits of microseconds.
    i64::try_from(instant.as_nanosecond().div_euclid(1_000)).unwrap_or(i64::MAX)
}

/// 2000-01-01T00:00:00Z, where PostgreSQL counts from, in microseconds of the Unix epoch.
const POSTGRES_EPOCH: i64 = 946_684_800_000_000;

impl ToSql<Instant, Pg> for Sql<Timestamp> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        let since = PgTimestamp(microsecond(self.0) - POSTGRES_EPOCH);
        ToSql::<Timestamptz, Pg>::to_sql(&since, &mut out.reborrow())
    }
}

impl FromSql<Instant, Pg> for Sql<Timestamp> {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        let PgTimestamp(since) = FromSql::<Timestamptz, Pg>::from_sql(value)?;
        let microsecond = since
            .checked_add(POSTGRES_EPOCH)
            .ok_or("an instant out of range")?;
        Ok(Self(from_microsecond(microsecond)?))
    }
}

impl ToSql<Instant, Sqlite> for Sql<Timestamp> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(microsecond(self.0));
        Ok(IsNull::No)
    }
}

impl FromSql<Instant, Sqlite> for Sql<Timestamp> {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let microsecond = <i64 as FromSql<BigInt, Sqlite>>::from_sql(value)?;
        Ok(Self(from_microsecond(microsecond)?))
    }
}

/// Day zero of PostgreSQL's dates.
const POSTGRES_DAY_ZERO: Date = date(2000, 1, 1);

impl ToSql<Day, Pg> for Sql<Date> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        let hours = self.0.duration_since(POSTGRES_DAY_ZERO).as_hours();
        let days = PgDate(i32::try_from(hours / 24)?);
        ToSql::<PgDay, Pg>::to_sql(&days, &mut out.reborrow())
    }
}

impl FromSql<Day, Pg> for Sql<Date> {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        let PgDate(days) = FromSql::<PgDay, Pg>::from_sql(value)?;
        let since = SignedDuration::from_hours(24 * i64::from(days));
        Ok(Self(POSTGRES_DAY_ZERO.checked_add(since)?))
    }
}

impl ToSql<Day, Sqlite> for Sql<Date> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(self.0.to_string());
        Ok(IsNull::No)
    }
}

impl FromSql<Day, Sqlite> for Sql<Date> {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let text = <String as FromSql<Text, Sqlite>>::from_sql(value)?;
        Ok(Self(text.parse()?))
    }
}

impl ToSql<Document, Pg> for Sql<Value> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        ToSql::<Jsonb, Pg>::to_sql(&self.0, &mut out.reborrow())
    }
}

impl FromSql<Document, Pg> for Sql<Value> {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        FromSql::<Jsonb, Pg>::from_sql(value).map(Self)
    }
}

impl ToSql<Document, Sqlite> for Sql<Value> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(self.0.to_string());
        Ok(IsNull::No)
    }
}

impl FromSql<Document, Sqlite> for Sql<Value> {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let text = <String as FromSql<Text, Sqlite>>::from_sql(value)?;
        Ok(Self(serde_json::from_str(&text)?))
    }
}
