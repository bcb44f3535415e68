//! Civil dates: `date`, and text `YYYY-MM-DD`.

use diesel::pg::data_types::PgDate;
use diesel::sql_types::Date as PgDay;
use jiff::SignedDuration;
use jiff::civil::{Date, date};

use super::bind::prelude::*;

/// A civil date.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 1082, array_oid = 1182),
    sqlite_type(name = "Text")
)]
pub struct Day;

foreign_type!(Day: Date);

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
    fn from_sql(mut value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        Ok(Self(value.read_text().parse()?))
    }
}
