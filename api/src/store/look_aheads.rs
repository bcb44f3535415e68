//! When a club looks ahead to the weekend, and the look-aheads that were made: one row a club and ISO
//! week, and the key decides.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;

use super::backend::each_backend;
use super::schema::{look_ahead_times, look_aheads};
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::ClubId;

/// When a club looks ahead.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = look_ahead_times)]
pub struct LookAheadTime {
    /// Whether it does.
    pub enabled: bool,
    /// The day of the week, 1 for Monday.
    pub weekday: i32,
    /// The minute of that day.
    pub minute: i32,
    /// When this was set.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub set_at: Timestamp,
    /// 1, 2, 3, …, for If-Match.
    pub version: i32,
}

/// A look-ahead that was made.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = look_aheads, treat_none_as_default_value = false)]
pub struct LookAhead {
    /// The Monday of its week.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub monday: Date,
    /// When it was made.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub made_at: Timestamp,
    /// Its place in the club's sequence.
    pub seq: i64,
    /// The policy it was judged by, where there was one.
    pub policy_version: Option<i32>,
}

/// When the club looks ahead; `None` where it never said.
///
/// # Errors
/// Those of the database.
pub fn time(conn: &mut Conn, tenant: Tenant) -> Result<Option<LookAheadTime>, StoreError> {
    each_backend!(conn, |c| look_ahead_times::table
        .filter(look_ahead_times::club_id.eq(tenant.club_id()))
        .select(LookAheadTime::as_select())
        .first(c)
        .optional())
}

/// Sets when the club looks ahead. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn set_time(conn: &mut Conn, tenant: Tenant, time: &LookAheadTime) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(look_ahead_times::table)
        .values((look_ahead_times::club_id.eq(tenant.club_id()), time.clone()))
        .on_conflict(look_ahead_times::club_id)
        .do_update()
        .set(time.clone())
        .execute(c))?;
    Ok(())
}

/// Every club that looks ahead, by id, for the job: a function without a tenant.
///
/// # Errors
/// Those of the database.
pub fn looking(
    conn: &mut Conn,
    after: Option<ClubId>,
    limit: i64,
) -> Result<Vec<ClubId>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = look_ahead_times::table
            .filter(look_ahead_times::enabled)
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(look_ahead_times::club_id.gt(after));
        }
        query
            .order(look_ahead_times::club_id)
            .limit(limit)
            .select(look_ahead_times::club_id)
            .load(c)
    })
}

/// Notes that a look-ahead is made; `false` when it was made already, and then nothing changes.
///
/// # Errors
/// `Reference` without the club.
pub fn make(conn: &mut Conn, tenant: Tenant, made: &LookAhead) -> Result<bool, StoreError> {
    let inserted = each_backend!(conn, |c| diesel::insert_into(look_aheads::table)
        .values((look_aheads::club_id.eq(tenant.club_id()), made.clone()))
        .on_conflict((look_aheads::club_id, look_aheads::monday))
        .do_nothing()
        .execute(c))?;
    Ok(inserted == 1)
}

/// The look-ahead of the week that begins on this Monday, where it was made.
///
/// # Errors
/// Those of the database.
pub fn made(
    conn: &mut Conn,
    tenant: Tenant,
    monday: Date,
) -> Result<Option<LookAhead>, StoreError> {
    each_backend!(conn, |c| look_aheads::table
        .filter(look_aheads::club_id.eq(tenant.club_id()))
        .filter(look_aheads::monday.eq(Sql(monday)))
        .select(LookAhead::as_select())
        .first(c)
        .optional())
}
