//! Answers kept for idempotency keys, so that a repeated request does its work once.

use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};

use crate::auth::principal::Principal;
use crate::error::{Code, Problem};
use crate::store::idempotency::{self, StoredAnswer};
use crate::store::{self, Conn, Tenant};
use crate::telemetry::metrics;
use crate::web::reply::Reply;
use crate::web::write::IdempotencyKey;

/// How long an answer is kept for its key.
pub const ANSWERS_KEPT: SignedDuration = SignedDuration::from_hours(24);

/// Gives the answer kept for the key, or does the work and keeps its answer.
pub(super) fn once(
    conn: &mut Conn,
    tenant: Tenant,
    key: Option<&KeptKey>,
    now: Timestamp,
    work: impl FnOnce(&mut Conn) -> Result<Reply, Problem>,
) -> Result<Reply, Problem> {
    if let Some(key) = key
        && let Some(stored) = idempotency::find(conn, tenant, &key.hash, now)?
    {
        return replay(stored, key);
    }
    let Some(key) = key else {
        return work(conn);
    };
    let reply = match store::savepoint(conn, work) {
        Err(problem) if problem.code.status() == 422 => Reply::problem(&problem)?,
        outcome => outcome?,
    };
    keep(conn, tenant, key, &reply, now)?;
    Ok(reply)
}

/// An idempotency key as it is kept: hashed with everything that scopes it.
#[derive(Debug)]
pub struct KeptKey {
    hash: [u8; 32],
    fingerprint: [u8; 32],
}

impl KeptKey {
    /// Scopes a key to client, subject, acting role, method and path; the club is the row's own.
    pub fn new(key: &IdempotencyKey, who: &Principal) -> Self {
        let mut hash = Sha256::new();
        // A subject is unique only within its issuer.
        for part in [
            &who.issuer,
            &who.client,
            &who.subject,
            who.role.code(),
            &key.target,
            &key.key,
        ] {
            hash.update(part.as_bytes());
            hash.update([0]);
        }
        Self {
            hash: hash.finalize().into(),
            fingerprint: key.fingerprint,
        }
    }

    /// Whether a request repeats the one of this key.
    ///
    /// # Errors
    /// `idempotency_key_reused` where it has other content.
    pub fn is_repeated_by(&self, other: &Self) -> Result<bool, Problem> {
        match self.hash == other.hash {
            true if self.fingerprint != other.fingerprint => Err(reused()),
            is_same => Ok(is_same),
        }
    }
}

fn reused() -> Problem {
    Problem::new(
        Code::IdempotencyKeyReused,
        "This Idempotency-Key came with other content before; use a new key for new content.",
    )
}

fn replay(stored: StoredAnswer, key: &KeptKey) -> Result<Reply, Problem> {
    if stored.fingerprint != key.fingerprint.as_slice() {
        return Err(reused());
    }
    if stored.erased {
        return Err(answer_erased(stored.status));
    }
    metrics::idempotent_replay();
    let status = u16::try_from(stored.status).map_err(|error| Problem::internal(&error))?;
    Ok(Reply::stored(
        status,
        &stored.headers,
        stored.body.into_inner(),
    ))
}

/// What a repeated request is told whose answer is no more.
fn answer_erased(status: i32) -> Problem {
    let detail = format!(
        "The request was carried out and answered with {status}; the answer was erased with the records of an athlete."
    );
    Problem::new(Code::AnswerErased, detail)
}

fn keep(
    conn: &mut Conn,
    tenant: Tenant,
    key: &KeptKey,
    reply: &Reply,
    now: Timestamp,
) -> Result<(), Problem> {
    let answer = StoredAnswer {
        key_hash: key.hash.to_vec(),
        fingerprint: key.fingerprint.to_vec(),
        status: reply.status.into(),
        headers: reply.headers(),
        body: reply.body.clone().into(),
        created_at: now,
        expires_at: now + ANSWERS_KEPT,
        erased: false,
    };
    Ok(idempotency::insert(conn, tenant, &answer)?)
}
