//! Answers kept for repeated requests, stored in the transaction that did the work.

use diesel::dsl::not;
use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::idempotency_keys;
use super::seal::{Kept, Private, for_sealing, opened, sealed_row};
use super::types::{Sealed, Sql};
use super::{Conn, StoreError, Tenant};

sealed_row! {
    /// A kept answer.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct StoredAnswer {
        /// Hash of the key and its scope.
        pub key_hash: Vec<u8>,
        /// Hash of the request: another one under the same key is refused.
        pub fingerprint: Vec<u8>,
        /// The answer's status.
        pub status: i32,
        /// The answer's header fields.
        pub headers: Value as Sql<Value>,
        /// When it was stored.
        pub created_at: Timestamp as Sql<Timestamp>,
        /// Until when it is kept.
        pub expires_at: Timestamp as Sql<Timestamp>,
        /// Whether it was erased: then nothing of it is left but that the work was done.
        pub erased: bool,
    }
    sealed {
        /// The answer's body, byte by byte.
        pub body: Private<Vec<u8>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = idempotency_keys, treat_none_as_default_value = false)]
    struct Row in idempotency_keys by key_hash
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
    let found = each_backend!(conn, |c| idempotency_keys::table
        .filter(idempotency_keys::club_id.eq(tenant.club_id()))
        .filter(idempotency_keys::key_hash.eq(key_hash))
        .filter(idempotency_keys::expires_at.gt(Sql(now)))
        .select(Row::as_select())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
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
    let keys = for_sealing::<Row>(conn, tenant, [answer].into_iter())?;
    let row = Row::seal(answer, &keys)?;
    let inserted = each_backend!(conn, |c| diesel::insert_into(idempotency_keys::table)
        .values((idempotency_keys::club_id.eq(tenant.club_id()), row))
        .on_conflict((idempotency_keys::club_id, idempotency_keys::key_hash))
        .do_nothing()
        .execute(c))?;
    if inserted == 1 {
        Ok(())
    } else {
        Err(StoreError::Conflict)
    }
}

/// Erases the club's kept answers, any of which may repeat what is kept of an athlete: of those whose work was done it stays known that
/// it was; refusals go, since repeating them does nothing twice. Answers how many.
///
/// # Errors
/// Those of the database.
pub fn erase(conn: &mut Conn, tenant: Tenant) -> Result<usize, StoreError> {
    let refusals = each_backend!(conn, |c| diesel::delete(idempotency_keys::table)
        .filter(idempotency_keys::club_id.eq(tenant.club_id()))
        .filter(idempotency_keys::status.ge(300))
        .execute(c))?;
    let answers = each_backend!(conn, |c| diesel::update(idempotency_keys::table)
        .filter(idempotency_keys::club_id.eq(tenant.club_id()))
        .filter(not(idempotency_keys::erased))
        .set((
            idempotency_keys::body.eq(Sealed::nothing()),
            idempotency_keys::headers.eq(Sql(Value::Null)),
            idempotency_keys::erased.eq(true),
        ))
        .execute(c))?;
    Ok(refusals + answers)
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
