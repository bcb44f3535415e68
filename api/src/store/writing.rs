//! Whether the database takes writes: known from the writes themselves, and tried only after one
//! has failed.

use std::sync::atomic::{AtomicBool, Ordering};

use diesel::prelude::*;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::backend::each_backend;
use super::idempotency::{self, StoredAnswer};
use super::schema::idempotency_keys;
use super::{Conn, StoreError, Tenant};

/// What the last write has shown.
#[derive(Debug, Default)]
pub(super) struct Writing(AtomicBool);

impl Writing {
    /// A write was committed.
    pub(super) fn works(&self) {
        self.0.store(false, Ordering::Relaxed);
    }

    /// A write failed, and not for its content.
    pub(super) fn failed(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the last write failed.
    pub(super) fn has_failed(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// The club that is none.
pub(super) fn nobody() -> Tenant {
    Tenant::granted(Uuid::nil().into())
}

/// Stores 64 KiB that cannot be compressed and removes them again, as an answer that nobody asks
/// for: a disk that takes them takes an ordinary write.
pub(super) fn trial(conn: &mut Conn) -> Result<(), StoreError> {
    let nobody = nobody();
    let answer = StoredAnswer {
        key_hash: b"trial of writing".to_vec(),
        fingerprint: Vec::new(),
        status: 200,
        headers: serde_json::Value::Null,
        body: (0_u32..2048)
            .flat_map(|number| Sha256::digest(number.to_le_bytes()))
            .collect::<Vec<_>>()
            .into(),
        created_at: jiff::Timestamp::UNIX_EPOCH,
        expires_at: jiff::Timestamp::UNIX_EPOCH,
        erased: false,
    };
    idempotency::insert(conn, nobody, &answer)?;
    each_backend!(conn, |c| diesel::delete(idempotency_keys::table)
        .filter(idempotency_keys::club_id.eq(nobody.club_id()))
        .filter(idempotency_keys::key_hash.eq(&answer.key_hash))
        .execute(c))?;
    Ok(())
}
