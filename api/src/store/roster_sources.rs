//! Roster apps that are pulled on a timetable.

use diesel::dsl::not;
use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::roster_sources;
use super::seal::{Kept, Private, for_sealing, opened, sealed_row};
use super::types::{Sealed, Sql};
use super::{Conn, StoreError, Tenant};
use crate::ids::{ClubId, RosterSourceId};

sealed_row! {
    /// A roster source as stored.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct StoredRosterSource {
        /// Its id.
        pub source_id: RosterSourceId,
        /// What the club calls it.
        pub name: String,
        /// The client whose roster it is: external ids are its keys.
        pub client: String,
        /// Hours between two pulls; none while it is pulled by hand alone.
        pub every_hours: Option<i32>,
        /// What is asked for, and where in the answer things are.
        pub settings: Value as Sql<Value>,
        /// What the app said its document is a version of (RFC 9110, 8.8.3).
        pub etag: Option<String>,
        /// What the app said about its document's age (RFC 9110, 8.8.2).
        pub last_modified: Option<String>,
        /// When it is to be pulled next.
        pub next_attempt_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Before when the app has asked not to be called.
        pub not_before: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// When it was last tried.
        pub last_attempt_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// When it was last pulled, with or without a change.
        pub last_success_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Why the last try came to nothing, as a code.
        pub last_problem: Option<String>,
        /// What the last roster came to.
        pub last_counts: Option<Value> as Sql<Option<Value>>,
        /// Since when it cannot be pulled.
        pub failing_since: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// How many tries in a row came to nothing.
        pub failures: i32,
        /// 1, 2, 3, …; it grows with what somebody sets.
        pub version: i32,
        /// When it was made.
        pub created_at: Timestamp as Sql<Timestamp>,
        /// When it was last changed.
        pub updated_at: Timestamp as Sql<Timestamp>,
    }
    sealed {
        /// Where the roster is.
        pub url: Option<Private<String>>,
        /// What the app asks for before it answers, as a JSON document.
        pub credentials: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable, AsChangeset)]
    #[diesel(table_name = roster_sources, treat_none_as_default_value = false, treat_none_as_null = true)]
    struct Row in roster_sources by source_id
}

/// How many sources a club has.
///
/// # Errors
/// Those of the database.
pub fn count(conn: &mut Conn, tenant: Tenant) -> Result<i64, StoreError> {
    each_backend!(conn, |c| roster_sources::table
        .filter(roster_sources::club_id.eq(tenant.club_id()))
        .filter(not(roster_sources::deleted))
        .count()
        .get_result(c))
}

/// Adds a source.
///
/// # Errors
/// `Conflict` when the id is taken, `Reference` without the club.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    source: &StoredRosterSource,
) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, source)?;
    each_backend!(conn, |c| diesel::insert_into(roster_sources::table)
        .values((
            roster_sources::club_id.eq(tenant.club_id()),
            roster_sources::deleted.eq(false),
            row
        ))
        .execute(c))?;
    Ok(())
}

fn sealed(conn: &mut Conn, tenant: Tenant, source: &StoredRosterSource) -> Result<Row, StoreError> {
    let keys = for_sealing::<Row>(conn, tenant, [source].into_iter())?;
    Row::seal(source, &keys)
}

/// Stores a source as it now is.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn save(
    conn: &mut Conn,
    tenant: Tenant,
    source: &StoredRosterSource,
) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, source)?;
    let saved = each_backend!(conn, |c| diesel::update(roster_sources::table)
        .filter(roster_sources::club_id.eq(tenant.club_id()))
        .filter(roster_sources::source_id.eq(source.source_id))
        .filter(not(roster_sources::deleted))
        .set(row)
        .execute(c))?;
    if saved == 1 {
        Ok(())
    } else {
        Err(StoreError::NotFound)
    }
}

/// Takes a source away: its address and its credentials are forgotten.
///
/// # Errors
/// Those of the database.
pub fn delete(conn: &mut Conn, tenant: Tenant, id: RosterSourceId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(roster_sources::table)
        .filter(roster_sources::club_id.eq(tenant.club_id()))
        .filter(roster_sources::source_id.eq(id))
        .set((
            roster_sources::deleted.eq(true),
            roster_sources::url.eq(None::<Sealed>),
            roster_sources::credentials.eq(None::<Sealed>),
            roster_sources::next_attempt_at.eq(Sql(None::<Timestamp>)),
        ))
        .execute(c))?;
    Ok(())
}

/// Whether an id is that of a source, deleted or not.
///
/// # Errors
/// Those of the database.
pub fn is_taken(conn: &mut Conn, tenant: Tenant, id: RosterSourceId) -> Result<bool, StoreError> {
    let found: i64 = each_backend!(conn, |c| roster_sources::table
        .filter(roster_sources::club_id.eq(tenant.club_id()))
        .filter(roster_sources::source_id.eq(id))
        .count()
        .get_result(c))?;
    Ok(found > 0)
}

/// A source.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: RosterSourceId,
) -> Result<Option<StoredRosterSource>, StoreError> {
    let found = each_backend!(conn, |c| roster_sources::table
        .filter(roster_sources::club_id.eq(tenant.club_id()))
        .filter(roster_sources::source_id.eq(id))
        .filter(not(roster_sources::deleted))
        .select(Row::as_select())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
}

/// A page of sources by id.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<RosterSourceId>,
    limit: i64,
) -> Result<Vec<StoredRosterSource>, StoreError> {
    let found = each_backend!(conn, |c| {
        let mut query = roster_sources::table
            .filter(roster_sources::club_id.eq(tenant.club_id()))
            .filter(not(roster_sources::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(roster_sources::source_id.gt(after));
        }
        query
            .order(roster_sources::source_id)
            .limit(limit)
            .select(Row::as_select())
            .load(c)
    })?;
    opened(conn, tenant, found)
}

/// The sources of any club that are to be pulled by now, the longest due first: for the job, and so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn due(
    conn: &mut Conn,
    now: Timestamp,
    limit: i64,
) -> Result<Vec<(ClubId, RosterSourceId)>, StoreError> {
    each_backend!(conn, |c| roster_sources::table
        .filter(not(roster_sources::deleted))
        .filter(roster_sources::next_attempt_at.le(Sql(Some(now))))
        .order((
            roster_sources::next_attempt_at,
            roster_sources::club_id,
            roster_sources::source_id
        ))
        .limit(limit)
        .select((roster_sources::club_id, roster_sources::source_id))
        .load(c))
}

/// How many sources on a timetable, of all clubs, cannot be pulled since `since` or longer: for the service's own health, and so
/// without a tenant.
///
/// # Errors
/// Those of the database.
pub fn failing(conn: &mut Conn, since: Timestamp) -> Result<i64, StoreError> {
    each_backend!(conn, |c| roster_sources::table
        .filter(not(roster_sources::deleted))
        .filter(roster_sources::every_hours.is_not_null())
        .filter(roster_sources::failing_since.le(Sql(Some(since))))
        .count()
        .get_result(c))
}
