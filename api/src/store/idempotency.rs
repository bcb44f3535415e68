//! Answers kept for repeated requests, stored in the transaction that did the work.

use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::idempotency_keys;
use super::types::Sql;
use super::{Conn, StoreError, Tenant};

/// A kept answer.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = idempotency_keys, treat_none_as_default_value = false)]
pub struct StoredAnswer {
    /// Hash of the key and its scope.
    pub key_hash: Vec<u8>,
    /// Hash of the request: another one under the same key is refused.
    pub fingerprint: Vec<u8>,
    /// The answer's status.
    pub status: i32,
    /// The answer's header fields.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub headers: Value,
    /// The answer's body, byte by byte.
    pub body: Vec<u8>,
    /// When it was stored.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
    /// Until when it is kept.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub expires_at: Timestamp,
}

/// The answer kept under a key, unless it has expired.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    key_hash: &[u8],
    now: Timestamp,
) -> Result<Option<StoredAnswer>, StoreError> {
    each_backend!(conn, |c| idempotency_keys::table
        .filter(idempotency_keys::club_id.eq(tenant.club_id()))
        .filter(idempotency_keys::key_hash.eq(key_hash))
        .filter(idempotency_keys::expires_at.gt(Sql(now)))
        .select(StoredAnswer::as_select())
        .first(c)
        .optional())
}

/// Keeps an answer, in the place of one under the same key that has expired by `created_at`.
///
/// # Errors
/// `Conflict` when the key is taken: the same request is being answered elsewhere.
pub fn insert(conn: &mut Conn, tenant: Tenant, answer: &StoredAnswer) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::delete(idempotency_keys::table)
        .filter(idempotency_keys::club_id.eq(tenant.club_id()))
        .filter(idempotency_keys::key_hash.eq(&answer.key_hash))
        .filter(idempotency_keys::expires_at.le(Sql(answer.created_at)))
        .execute(c))?;
    let inserted = each_backend!(conn, |c| diesel::insert_into(idempotency_keys::table)
        .values((
            idempotency_keys::club_id.eq(tenant.club_id()),
            answer.clone()
        ))
        .on_conflict((idempotency_keys::club_id, idempotency_keys::key_hash))
        .do_nothing()
        .execute(c))?;
    if inserted == 1 {
        Ok(())
    } else {
        Err(StoreError::Conflict)
    }
}

/// Forgets every club's answers that have expired; answers how many. For housekeeping, and
/// so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn prune(conn: &mut Conn, now: Timestamp) -> Result<usize, StoreError> {
    each_backend!(conn, |c| diesel::delete(idempotency_keys::table)
        .filter(idempotency_keys::expires_at.le(Sql(now)))
        .execute(c))
}
