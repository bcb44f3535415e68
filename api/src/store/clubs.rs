//! Clubs, and the lock that puts a club's writes in order.

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::{each_backend, for_update};
use super::prepared::prepared;
use super::schema::clubs;
use super::types::{Sql, whole_microsecond};
use super::{Conn, Moment, StoreError, Tenant, settle};
use crate::clock::Clock;
use crate::ids::ClubId;

/// A club as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = clubs, treat_none_as_default_value = false)]
pub struct Club {
    /// Its id.
    pub club_id: ClubId,
    /// Its name.
    pub name: String,
    /// Its home zone, an IANA name.
    pub time_zone: String,
    /// Version of name and zone, for If-Match.
    pub version: i32,
    /// The last number of its sequence of changes.
    pub last_seq: i64,
    /// When its last change was received.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub last_received_at: Timestamp,
    /// When it was made.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
}

/// Stores a new club under the tenant's id.
///
/// # Errors
/// `Conflict` when there is one.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    name: &str,
    time_zone: &str,
    now: Timestamp,
) -> Result<Club, StoreError> {
    let now = whole_microsecond(now);
    let club = Club {
        club_id: tenant.club_id(),
        name: name.to_owned(),
        time_zone: time_zone.to_owned(),
        version: 1,
        last_seq: 0,
        last_received_at: now,
        created_at: now,
    };
    each_backend!(conn, |c| diesel::insert_into(clubs::table)
        .values(club.clone())
        .execute(c))?;
    Ok(club)
}

/// The tenant's club.
///
/// # Errors
/// Those of the database.
pub fn find(conn: &mut Conn, tenant: Tenant) -> Result<Option<Club>, StoreError> {
    each_backend!(conn, |c| clubs::table
        .filter(clubs::club_id.eq(tenant.club_id()))
        .select(Club::as_select())
        .first(c)
        .optional())
}

/// Every club by id, for the operator and for jobs: a function without a tenant.
///
/// # Errors
/// Those of the database.
pub fn list_all(
    conn: &mut Conn,
    after: Option<ClubId>,
    limit: i64,
) -> Result<Vec<Club>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = clubs::table.into_boxed();
        if let Some(after) = after {
            query = query.filter(clubs::club_id.gt(after));
        }
        query
            .order(clubs::club_id)
            .limit(limit)
            .select(Club::as_select())
            .load(c)
    })
}

/// Changes name and zone, when the version is still the one the caller saw.
///
/// # Errors
/// `NotFound` without the club, `Conflict` when the version is stale.
pub fn update(
    conn: &mut Conn,
    tenant: Tenant,
    version: i32,
    name: &str,
    time_zone: &str,
) -> Result<Club, StoreError> {
    let updated: Option<Club> = each_backend!(conn, |c| diesel::update(clubs::table)
        .filter(clubs::club_id.eq(tenant.club_id()))
        .filter(clubs::version.eq(version))
        .set((
            clubs::name.eq(name),
            clubs::time_zone.eq(time_zone),
            clubs::version.eq(version + 1),
        ))
        .returning(Club::as_returning())
        .get_result(c)
        .optional())?;
    match updated {
        Some(club) => Ok(club),
        None if find(conn, tenant)?.is_some() => Err(StoreError::Conflict),
        None => Err(StoreError::NotFound),
    }
}

/// Begins a write of the club: keeps its other writers waiting until the transaction ends, and
/// gives the write its instant: the clock's once nobody else writes, and always after the last.
///
/// # Errors
/// `NotFound` without the club, `Busy` when another write holds it too long.
pub fn lock(conn: &mut Conn, tenant: Tenant, clock: Clock) -> Result<Moment, StoreError> {
    settle::announce(conn, tenant)?;
    let (last_seq, Sql(last_received_at), home_zone): (i64, Sql<Timestamp>, String) = for_update!(
        conn,
        clubs::table
            .filter(clubs::club_id.eq(tenant.club_id()))
            .select((clubs::last_seq, clubs::last_received_at, clubs::time_zone))
    )?;
    let now = whole_microsecond(clock.now());
    let at = whole_microsecond(clock.after(last_received_at));
    Ok(Moment::new(at, now, last_seq, home_zone))
}

/// When the club's last change was received.
///
/// # Errors
/// `NotFound` without the club.
pub fn last_received(conn: &mut Conn, tenant: Tenant) -> Result<Timestamp, StoreError> {
    let Sql(at) = each_backend!(conn, |c| clubs::table
        .filter(clubs::club_id.eq(tenant.club_id()))
        .select(clubs::last_received_at)
        .first(c))?;
    Ok(at)
}

/// Ends a write of the club: remembers its instant and the sequence numbers it used.
///
/// # Errors
/// Those of the database.
pub fn moment_save(conn: &mut Conn, tenant: Tenant, moment: &Moment) -> Result<(), StoreError> {
    let _: i64 = each_backend!(conn, |c| prepared(
        diesel::update(clubs::table)
            .filter(clubs::club_id.eq(tenant.club_id()))
            .set((
                clubs::last_seq.eq(moment.last_seq()),
                clubs::last_received_at.eq(Sql(moment.at())),
            ))
            .returning(clubs::last_seq)
    )
    .get_result(c))?;
    Ok(())
}
