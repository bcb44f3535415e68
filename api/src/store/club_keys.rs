//! The keys that clubs' private values are sealed under, wrapped by a master key.

use std::sync::Arc;

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::each_backend;
use super::schema::club_keys;
use super::seal::{ClubKeys, DataKey};
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::ClubId;

/// Rows that are wrapped anew in one transaction.
const REWRAPPED: i64 = 100;

/// The club's keys to seal with. Its first key is made when it is first needed; of two writers at once one makes it.
pub(super) fn for_sealing(conn: &mut Conn, tenant: Tenant) -> Result<Arc<ClubKeys>, StoreError> {
    let keys = in_hand(conn, tenant)?;
    if keys.newest().is_some() || tenant.club_id().uuid().is_nil() {
        return Ok(keys);
    }
    insert(conn, tenant, 1)?;
    read(conn, tenant)
}

/// The club's keys, the one of this number among them. A connection has them from its first need on; another process may
/// have begun a key since.
pub(super) fn with(
    conn: &mut Conn,
    tenant: Tenant,
    number: Option<i32>,
) -> Result<Arc<ClubKeys>, StoreError> {
    let Some(number) = number else {
        return Ok(Arc::new(ClubKeys::none(tenant.club_id())));
    };
    let keys = in_hand(conn, tenant)?;
    if keys.has(number) {
        Ok(keys)
    } else {
        read(conn, tenant)
    }
}

fn in_hand(conn: &mut Conn, tenant: Tenant) -> Result<Arc<ClubKeys>, StoreError> {
    match conn.keys.get(&tenant.club_id()) {
        Some(keys) => Ok(Arc::clone(keys)),
        None => read(conn, tenant),
    }
}

fn read(conn: &mut Conn, tenant: Tenant) -> Result<Arc<ClubKeys>, StoreError> {
    let club = tenant.club_id();
    let rows: Vec<Columns> = each_backend!(conn, |c| club_keys::table
        .filter(club_keys::club_id.eq(club))
        .select((club_keys::number, club_keys::wrapped, club_keys::master_key))
        .load(c))?;
    let kept: Vec<DataKey> = rows.into_iter().map(data_key).collect();
    let keys = Arc::new(ClubKeys::unwrap(&conn.masters, club, &kept)?);
    conn.keys.insert(club, Arc::clone(&keys));
    Ok(keys)
}

/// Number, wrapped key, id of its master key.
type Columns = (i32, Vec<u8>, Vec<u8>);

fn data_key((number, wrapped, master_key): Columns) -> DataKey {
    DataKey {
        number,
        wrapped,
        master_key,
    }
}

fn insert(conn: &mut Conn, tenant: Tenant, number: i32) -> Result<(), StoreError> {
    let key = DataKey::make(&conn.masters, tenant.club_id(), number)?;
    // The database says when, for people who look; nothing is computed from it.
    each_backend!(conn, |c| diesel::insert_into(club_keys::table)
        .values((
            club_keys::club_id.eq(tenant.club_id()),
            club_keys::number.eq(key.number),
            club_keys::wrapped.eq(&key.wrapped),
            club_keys::master_key.eq(&key.master_key),
        ))
        .on_conflict((club_keys::club_id, club_keys::number))
        .do_nothing()
        .execute(c))?;
    Ok(())
}

/// Begins the club's next key, under which everything is sealed from now on; answers its number. Where a rotation was
/// begun and not ended, its key is the next one. To be called by whoever holds the club.
///
/// # Errors
/// Those of the database.
pub fn begin(conn: &mut Conn, tenant: Tenant) -> Result<i32, StoreError> {
    let in_use: Vec<i32> = each_backend!(conn, |c| club_keys::table
        .filter(club_keys::club_id.eq(tenant.club_id()))
        .filter(club_keys::retired_at.is_null())
        .order(club_keys::number)
        .select(club_keys::number)
        .load(c))?;
    if let [_, .., newest] = in_use[..] {
        return Ok(newest);
    }
    let next = in_use.last().map_or(1, |number| number + 1);
    insert(conn, tenant, next)?;
    read(conn, tenant)?;
    Ok(next)
}

/// Retires every key before this one; answers how many. They stay, so that a reader who began before still opens what it read.
///
/// # Errors
/// Those of the database.
pub fn retire_before(
    conn: &mut Conn,
    tenant: Tenant,
    number: i32,
    at: Timestamp,
) -> Result<usize, StoreError> {
    each_backend!(conn, |c| diesel::update(club_keys::table)
        .filter(club_keys::club_id.eq(tenant.club_id()))
        .filter(club_keys::number.lt(number))
        .filter(club_keys::retired_at.is_null())
        .set(club_keys::retired_at.eq(Sql(Some(at))))
        .execute(c))
}

/// Deletes the club's keys: from then on nobody opens what is sealed under them, here or in a copy of the database.
/// Answers how many there were.
///
/// # Errors
/// Those of the database.
pub fn forget(conn: &mut Conn, tenant: Tenant) -> Result<usize, StoreError> {
    conn.keys.remove(&tenant.club_id());
    each_backend!(conn, |c| diesel::delete(club_keys::table)
        .filter(club_keys::club_id.eq(tenant.club_id()))
        .execute(c))
}

/// How many keys of any club were wrapped by a master key that is not here: for the start of the service, and so without a
/// tenant.
///
/// # Errors
/// Those of the database.
pub fn of_unknown_master(conn: &mut Conn) -> Result<i64, StoreError> {
    let known = conn.masters.ids();
    each_backend!(conn, |c| club_keys::table
        .filter(club_keys::master_key.ne_all(known))
        .count()
        .get_result(c))
}

/// Wraps some keys anew that an older master key wraps, of any club and so without a tenant; answers how many, 0 at the end.
///
/// # Errors
/// Those of the database, `NotOpened` when the older master key is not here.
pub fn rewrap_some(conn: &mut Conn) -> Result<usize, StoreError> {
    let newest = conn.masters.newest().to_vec();
    let rows: Vec<(ClubId, Columns)> = each_backend!(conn, |c| club_keys::table
        .filter(club_keys::master_key.ne(&newest))
        .order((club_keys::club_id, club_keys::number))
        .limit(REWRAPPED)
        .select((
            club_keys::club_id,
            (club_keys::number, club_keys::wrapped, club_keys::master_key),
        ))
        .load(c))?;
    let count = rows.len();
    for (club, row) in rows {
        let key = data_key(row).rewrapped(&conn.masters, club)?;
        each_backend!(conn, |c| diesel::update(club_keys::table)
            .filter(club_keys::club_id.eq(club))
            .filter(club_keys::number.eq(key.number))
            .set((
                club_keys::wrapped.eq(&key.wrapped),
                club_keys::master_key.eq(&key.master_key),
            ))
            .execute(c))?;
    }
    Ok(count)
}
