//! Who read what, in which role, and why.

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::{batches, each_backend, for_update, insert_rows};
use super::prepared::prepared;
use super::schema::{audit_heads, audit_reads};
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::{AthleteId, AuditId, ClubId};

/// One read.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = audit_reads, treat_none_as_default_value = false)]
pub struct AuditRead {
    /// Its id; ids grow with time, and the list is in their order.
    pub audit_id: AuditId,
    /// When.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub at: Timestamp,
    /// Who: the token's subject.
    pub subject: String,
    /// Through which client.
    pub client: String,
    /// In which role.
    pub acting_role: String,
    /// Why, where it was asked for.
    pub purpose: Option<String>,
    /// Whose data, where it was one athlete's.
    pub athlete_id: Option<AthleteId>,
    /// What was read.
    pub action: String,
    /// What came of it.
    pub outcome: String,
    /// The request, as in the log.
    pub request_id: String,
}

/// A read and its place in the club's chain.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = audit_reads)]
pub struct ChainedRead {
    /// The read.
    #[diesel(embed)]
    pub read: AuditRead,
    /// Its number, from 1.
    #[diesel(select_expression = audit_reads::number.assume_not_null())]
    pub number: i64,
    /// What binds it to the one before.
    #[diesel(select_expression = audit_reads::link.assume_not_null())]
    pub link: Vec<u8>,
}

/// Where a club's chain ends.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = audit_heads)]
pub struct AuditHead {
    /// The number of its last read; 0 before the first.
    pub number: i64,
    /// The link of its last read.
    pub link: Vec<u8>,
    /// Which key its links are made with.
    pub key_id: Vec<u8>,
}

/// The end of the chain, locked until the transaction ends; `start` where there is no chain yet.
///
/// # Errors
/// `Busy` when another write holds it too long.
pub fn lock_head(
    conn: &mut Conn,
    tenant: Tenant,
    start: &AuditHead,
) -> Result<AuditHead, StoreError> {
    match locked_head(conn, tenant) {
        Err(StoreError::NotFound) => {}
        found => return found,
    }
    each_backend!(conn, |c| diesel::insert_into(audit_heads::table)
        .values((audit_heads::club_id.eq(tenant.club_id()), start.clone()))
        .on_conflict_do_nothing()
        .execute(c))?;
    locked_head(conn, tenant)
}

fn locked_head(conn: &mut Conn, tenant: Tenant) -> Result<AuditHead, StoreError> {
    for_update!(
        conn,
        audit_heads::table
            .filter(audit_heads::club_id.eq(tenant.club_id()))
            .select(AuditHead::as_select())
    )
}

/// The end of the chain; `None` where there is no chain yet.
///
/// # Errors
/// Those of the database.
pub fn head(conn: &mut Conn, tenant: Tenant) -> Result<Option<AuditHead>, StoreError> {
    each_backend!(conn, |c| audit_heads::table
        .filter(audit_heads::club_id.eq(tenant.club_id()))
        .select(AuditHead::as_select())
        .first(c)
        .optional())
}

/// Whether any club's chain was begun with another key.
///
/// # Errors
/// Those of the database.
pub fn uses_other_key(conn: &mut Conn, key_id: &[u8]) -> Result<bool, StoreError> {
    let other: Option<i64> = each_backend!(conn, |c| audit_heads::table
        .filter(audit_heads::key_id.ne(key_id))
        .select(audit_heads::number)
        .first(c)
        .optional())?;
    Ok(other.is_some())
}

/// Appends reads to the chain, in batches, and moves its end.
///
/// # Errors
/// `Conflict` when an id or a number is taken.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    reads: &[ChainedRead],
    head: &AuditHead,
) -> Result<(), StoreError> {
    let rows = reads.iter().map(|chained| {
        (
            audit_reads::club_id.eq(tenant.club_id()),
            chained.read.clone(),
            audit_reads::number.eq(chained.number),
            audit_reads::link.eq(chained.link.clone()),
        )
    });
    for batch in batches(rows) {
        insert_rows!(conn, batch, |rows| diesel::insert_into(audit_reads::table)
            .values(rows))?;
    }
    let _: i64 = each_backend!(conn, |c| prepared(
        diesel::update(audit_heads::table)
            .filter(audit_heads::club_id.eq(tenant.club_id()))
            .set(head.clone())
            .returning(audit_heads::number)
    )
    .get_result(c))?;
    Ok(())
}

/// Reads of the chain in its order, after a number and up to another. One without a link is none of the chain.
///
/// # Errors
/// Those of the database; `Internal` where a row holds what is never written.
pub fn chain(
    conn: &mut Conn,
    tenant: Tenant,
    (after, up_to): (i64, i64),
    limit: i64,
) -> Result<Vec<ChainedRead>, StoreError> {
    each_backend!(conn, |c| audit_reads::table
        .filter(audit_reads::club_id.eq(tenant.club_id()))
        .filter(audit_reads::number.gt(after))
        .filter(audit_reads::number.le(up_to))
        .filter(audit_reads::link.is_not_null())
        .order(audit_reads::number)
        .limit(limit)
        .select(ChainedRead::as_select())
        .load(c))
}

/// The first read that has no place in a chain of so many reads. Reads from before there were chains have none either.
///
/// # Errors
/// Those of the database.
pub fn outside_chain(
    conn: &mut Conn,
    tenant: Tenant,
    length: i64,
) -> Result<Option<AuditId>, StoreError> {
    let number = audit_reads::number;
    let outside = number.is_null().or(number.lt(1)).or(number.gt(length));
    each_backend!(conn, |c| audit_reads::table
        .filter(audit_reads::club_id.eq(tenant.club_id()))
        .filter(outside)
        .order(audit_reads::audit_id)
        .select(audit_reads::audit_id)
        .first(c)
        .optional())
}

/// Where the chains of clubs end, by the id of the club, after one.
///
/// # Errors
/// Those of the database.
pub fn heads(
    conn: &mut Conn,
    after: Option<ClubId>,
    limit: i64,
) -> Result<Vec<(ClubId, AuditHead)>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = audit_heads::table
            .select((audit_heads::club_id, AuditHead::as_select()))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(audit_heads::club_id.gt(after));
        }
        query.order(audit_heads::club_id).limit(limit).load(c)
    })
}

/// Reads of one athlete's record, the newest first, before the given one.
///
/// # Errors
/// Those of the database.
pub fn of_athlete(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    before: Option<AuditId>,
    limit: i64,
) -> Result<Vec<AuditRead>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = audit_reads::table
            .filter(audit_reads::club_id.eq(tenant.club_id()))
            .filter(audit_reads::athlete_id.eq(athlete_id))
            .into_boxed();
        if let Some(before) = before {
            query = query.filter(audit_reads::audit_id.lt(before));
        }
        query
            .order(audit_reads::audit_id.desc())
            .limit(limit)
            .select(AuditRead::as_select())
            .load(c)
    })
}

/// A page of reads in the order of their ids, after the given one; of one athlete when given.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: Option<AthleteId>,
    after: Option<AuditId>,
    limit: i64,
) -> Result<Vec<AuditRead>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = audit_reads::table
            .filter(audit_reads::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(athlete_id) = athlete_id {
            query = query.filter(audit_reads::athlete_id.eq(athlete_id));
        }
        if let Some(after) = after {
            query = query.filter(audit_reads::audit_id.gt(after));
        }
        query
            .order(audit_reads::audit_id)
            .limit(limit)
            .select(AuditRead::as_select())
            .load(c)
    })
}
