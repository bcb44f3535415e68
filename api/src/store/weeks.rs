//! When a club's weeks are closed, and those that were: one row a club and ISO week, and the key
//! decides.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;

use super::backend::each_backend;
use super::schema::{closed_weeks, closing_times};
use super::types::Sql;
use super::{Conn, StoreError, Tenant};

/// A closed week.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = closed_weeks, treat_none_as_default_value = false)]
pub struct ClosedWeek {
    /// The Monday it begins with.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub monday: Date,
    /// When it was closed.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub closed_at: Timestamp,
    /// The close's place in the club's sequence.
    pub seq: i64,
    /// The policy it was judged by, where there was one.
    pub policy_version: Option<i32>,
    /// Whether it was closed after its time.
    pub late: bool,
}

/// When a club's week is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = closing_times)]
pub struct ClosingTime {
    /// The day after the week, 1 for Monday.
    pub weekday: i32,
    /// The minute of that day.
    pub minute: i32,
    /// 1, 2, 3, …, for If-Match.
    pub version: i32,
}

/// When the club's week is closed; `None` where it never said.
///
/// # Errors
/// Those of the database.
pub fn closing_time(conn: &mut Conn, tenant: Tenant) -> Result<Option<ClosingTime>, StoreError> {
    each_backend!(conn, |c| closing_times::table
        .filter(closing_times::club_id.eq(tenant.club_id()))
        .select(ClosingTime::as_select())
        .first(c)
        .optional())
}

/// Sets when the club's week is closed. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn set_closing_time(
    conn: &mut Conn,
    tenant: Tenant,
    time: ClosingTime,
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(closing_times::table)
        .values((closing_times::club_id.eq(tenant.club_id()), time))
        .on_conflict(closing_times::club_id)
        .do_update()
        .set(time)
        .execute(c))?;
    Ok(())
}

/// Closes a week; `false` when it was closed already, and then nothing changes.
///
/// # Errors
/// `Reference` without the club.
pub fn close(conn: &mut Conn, tenant: Tenant, week: &ClosedWeek) -> Result<bool, StoreError> {
    let inserted = each_backend!(conn, |c| diesel::insert_into(closed_weeks::table)
        .values((closed_weeks::club_id.eq(tenant.club_id()), week.clone()))
        .on_conflict((closed_weeks::club_id, closed_weeks::monday))
        .do_nothing()
        .execute(c))?;
    Ok(inserted == 1)
}

/// The closed weeks whose Monday lies in `from..=to`, in order.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    from: Date,
    to: Date,
) -> Result<Vec<ClosedWeek>, StoreError> {
    each_backend!(conn, |c| closed_weeks::table
        .filter(closed_weeks::club_id.eq(tenant.club_id()))
        .filter(closed_weeks::monday.between(Sql(from), Sql(to)))
        .order(closed_weeks::monday)
        .select(ClosedWeek::as_select())
        .load(c))
}

/// The weeks that were closed last, the newest first.
///
/// # Errors
/// Those of the database.
pub fn newest(conn: &mut Conn, tenant: Tenant, limit: i64) -> Result<Vec<ClosedWeek>, StoreError> {
    each_backend!(conn, |c| closed_weeks::table
        .filter(closed_weeks::club_id.eq(tenant.club_id()))
        .order(closed_weeks::monday.desc())
        .limit(limit)
        .select(ClosedWeek::as_select())
        .load(c))
}

/// The last week that was closed.
///
/// # Errors
/// Those of the database.
pub fn latest(conn: &mut Conn, tenant: Tenant) -> Result<Option<ClosedWeek>, StoreError> {
    each_backend!(conn, |c| closed_weeks::table
        .filter(closed_weeks::club_id.eq(tenant.club_id()))
        .order(closed_weeks::monday.desc())
        .select(ClosedWeek::as_select())
        .first(c)
        .optional())
}
