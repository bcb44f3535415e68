//! Instants: `timestamptz`, and integer microseconds of the Unix epoch.

use diesel::pg::data_types::PgTimestamp;
use diesel::sql_types::{BigInt, Timestamptz};
use jiff::Timestamp;

use super::bind::prelude::*;

/// An instant, to the microsecond.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 1184, array_oid = 1185),
    sqlite_type(name = "Long")
)]
pub struct Instant;

foreign_type!(Instant: Timestamp);

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
