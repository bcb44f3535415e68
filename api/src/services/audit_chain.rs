//! The audit list as a chain: each row bound by a keyed hash to the one before it.
//!
//! `link(n) = HMAC-SHA-256(key, link(n - 1) || row(n))` (RFC 2104), where `link(0)` is 32 zero octets and `row(n)`
//! the row in canonical JSON (RFC 8785). Who can write to the database but does not hold the key can
//! neither change, remove, insert nor reorder rows unnoticed. Cutting off the end together with the
//! stored head, and what who holds the key writes anew, shows only against heads that were signed and kept
//! elsewhere ([`super::signed_heads`]).

use std::iter::Peekable;
use std::path::Path;
use std::slice;

use aws_lc_rs::{constant_time, hmac};
use jiff::Timestamp;
use serde::Serialize;

use super::signed_heads::{SignedHead, hexadecimal};

use crate::auth::key_file::{self, KeyFileError, SECRET_OCTETS};
use crate::error::Problem;
use crate::ids::AuditId;
use crate::store::audit::{self, AuditHead, AuditRead, ChainedRead};
use crate::store::{Conn, StoreError, Tenant};

/// Octets of a link.
const OCTETS: usize = 32;
/// Rows that are checked at a time.
const PAGE: i64 = 1_000;

/// The key of the chain.
#[derive(Clone)]
pub struct ChainKey {
    key: hmac::Key,
    id: Vec<u8>,
}

impl ChainKey {
    /// Reads the key from `path`; makes it when there is no such file.
    ///
    /// # Errors
    /// [`KeyFileError`].
    pub fn open(path: &Path) -> Result<Self, KeyFileError> {
        key_file::secret(path).map(|octets| Self::new(&octets))
    }

    fn new(octets: &[u8; SECRET_OCTETS]) -> Self {
        let key = hmac::Key::new(hmac::HMAC_SHA256, octets);
        let id = hmac::sign(&key, b"key id").as_ref()[..8].to_vec();
        Self { key, id }
    }

    /// Which key it is; tells nothing of the key itself.
    pub fn id(&self) -> &[u8] {
        &self.id
    }

    /// Where a chain begins.
    pub fn start(&self) -> AuditHead {
        AuditHead {
            number: 0,
            link: vec![0; OCTETS],
            key_id: self.id.clone(),
        }
    }

    /// The next row of a chain, which ends with it.
    pub fn extend(
        &self,
        tenant: Tenant,
        head: &mut AuditHead,
        read: AuditRead,
    ) -> Result<ChainedRead, Problem> {
        let number = head.number + 1;
        let link = self.link(tenant, number, &head.link, &read)?;
        head.number = number;
        head.link.clone_from(&link);
        Ok(ChainedRead { read, number, link })
    }

    fn link(
        &self,
        tenant: Tenant,
        number: i64,
        before: &[u8],
        read: &AuditRead,
    ) -> Result<Vec<u8>, Problem> {
        let row = serde_json::to_vec(&Canonical::of(tenant, number, read))
            .map_err(|error| Problem::internal(&error))?;
        let mut context = hmac::Context::with_key(&self.key);
        context.update(before);
        context.update(&row);
        Ok(context.sign().as_ref().to_vec())
    }
}

impl std::fmt::Debug for ChainKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ChainKey").finish_non_exhaustive()
    }
}

/// A row as it is hashed: its fields in the order of their names, texts and whole numbers only, so
/// that serde's compact text is the canonical one.
#[derive(Serialize)]
struct Canonical<'a> {
    acting_role: &'a str,
    action: &'a str,
    at: String,
    athlete_id: Option<String>,
    audit_id: String,
    client: &'a str,
    club_id: String,
    number: String,
    outcome: &'a str,
    purpose: Option<&'a str>,
    request_id: &'a str,
    subject: &'a str,
}

impl<'a> Canonical<'a> {
    fn of(tenant: Tenant, number: i64, read: &'a AuditRead) -> Self {
        Self {
            acting_role: &read.acting_role,
            action: &read.action,
            at: read.at.to_string(),
            athlete_id: read.athlete_id.map(|id| id.to_string()),
            audit_id: read.audit_id.to_string(),
            client: &read.client,
            club_id: tenant.club_id().to_string(),
            number: number.to_string(),
            outcome: &read.outcome,
            purpose: read.purpose.as_deref(),
            request_id: &read.request_id,
            subject: &read.subject,
        }
    }
}

/// What is wrong with a chain: the first thing found.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Break {
    /// A row is not where it should be.
    #[error("row {0} is missing")]
    Missing(i64),
    /// A row or the one before it is not what was written.
    #[error("row {0} ({1}) is not what was written, or the row before it was removed or changed")]
    Altered(i64, AuditId),
    /// The next row holds what the service never writes.
    #[error("row {0} cannot be read as anything that was written")]
    Unreadable(i64),
    /// A row was added without a place in the chain.
    #[error("row {0} was added outside the chain")]
    Outside(AuditId),
    /// The last row is not the one the chain is said to end with.
    #[error("row {0} is not the one the chain is said to end with")]
    Head(i64),
    /// There are rows, but nothing says where the chain ends.
    #[error("the end of the chain is gone")]
    NoHead,
    /// The chain was begun with another key.
    #[error("the chain was begun with another key than the one set")]
    OtherKey,
    /// The chain ends before a row that was signed.
    #[error("row {row} is missing: the end was cut off, for row {signed} was signed at {at}")]
    CutOff {
        /// The first row that is missing.
        row: i64,
        /// The first one of those missing that was signed.
        signed: i64,
        /// When it was signed.
        at: Timestamp,
    },
    /// The chain fits its key, but not what was signed: who holds the key made it anew.
    #[error(
        "row {row} is not the one that was signed at {at}: it or a row after {good} was written anew with the chain's key"
    )]
    Rewritten {
        /// The first row that is not as it was signed.
        row: i64,
        /// The last row before it that is as it was signed; 0 where there is none.
        good: i64,
        /// When it was signed.
        at: Timestamp,
    },
}

/// Checks a club's chain from its first row to its head, a page at a time, and against the heads that were signed
/// of it, by rising number.
///
/// # Errors
/// Those of the database; what is wrong with the chain is the inner result.
pub fn verify(
    conn: &mut Conn,
    tenant: Tenant,
    key: &ChainKey,
    signed: &[SignedHead],
) -> Result<Result<AuditHead, Break>, StoreError> {
    let mut signed = Signed::new(signed);
    let Some(head) = audit::head(conn, tenant)? else {
        let stray = audit::outside_chain(conn, tenant, 0)?;
        let nothing = signed.ends(0).map(|()| key.start());
        return Ok(stray.map_or(nothing, |_| Err(Break::NoHead)));
    };
    if head.key_id != key.id {
        return Ok(Err(Break::OtherKey));
    }
    let mut reached = key.start();
    while reached.number < head.number {
        let page = match page(conn, tenant, (reached.number, head.number))? {
            Some(page) if page.is_empty() => return Ok(Err(Break::Missing(reached.number + 1))),
            Some(page) => page,
            None => return Ok(Err(Break::Unreadable(reached.number + 1))),
        };
        for row in page {
            let checked = key.check(tenant, &mut reached, row);
            if let Err(broken) = checked.and_then(|()| signed.passes(&reached)) {
                return Ok(Err(broken));
            }
        }
    }
    if reached.link != head.link {
        return Ok(Err(Break::Head(head.number)));
    }
    let outside = audit::outside_chain(conn, tenant, head.number)?;
    Ok(match outside {
        Some(row) => Err(Break::Outside(row)),
        None => signed.ends(head.number).map(|()| head),
    })
}

/// The next rows of a chain, at least one where there is one; `None` where the first cannot be read.
fn page(
    conn: &mut Conn,
    tenant: Tenant,
    range: (i64, i64),
) -> Result<Option<Vec<ChainedRead>>, StoreError> {
    for limit in [PAGE, 100, 10, 1] {
        match audit::chain(conn, tenant, range, limit) {
            Err(StoreError::Internal(_)) => {}
            page => return page.map(Some),
        }
    }
    Ok(None)
}

impl ChainKey {
    fn check(
        &self,
        tenant: Tenant,
        reached: &mut AuditHead,
        row: ChainedRead,
    ) -> Result<(), Break> {
        let due = reached.number + 1;
        if row.number != due {
            return Err(Break::Missing(due));
        }
        let id = row.read.audit_id;
        let expected = self.extend(tenant, reached, row.read);
        let expected = expected.map_err(|_| Break::Altered(due, id))?;
        constant_time::verify_slices_are_equal(&expected.link, &row.link)
            .map_err(|_| Break::Altered(due, id))
    }
}

/// The signed heads of a club that a walk along its chain has still to meet.
struct Signed<'a> {
    ahead: Peekable<slice::Iter<'a, SignedHead>>,
    good: i64,
}

impl<'a> Signed<'a> {
    fn new(heads: &'a [SignedHead]) -> Self {
        Self {
            ahead: heads.iter().peekable(),
            good: 0,
        }
    }

    /// Compares a row that was reached with what was signed of it.
    fn passes(&mut self, reached: &AuditHead) -> Result<(), Break> {
        let Self { ahead, good } = self;
        while let Some(head) = ahead.next_if(|head| head.number <= reached.number) {
            if head.link != hexadecimal(&reached.link) {
                return Err(Break::Rewritten {
                    row: head.number,
                    good: *good,
                    at: head.at,
                });
            }
            *good = head.number;
        }
        Ok(())
    }

    /// Where a chain ends, nothing beyond may have been signed.
    fn ends(&mut self, number: i64) -> Result<(), Break> {
        self.ahead.next().map_or(Ok(()), |head| {
            Err(Break::CutOff {
                row: number + 1,
                signed: head.number,
                at: head.at,
            })
        })
    }
}

#[cfg(test)]
mod tests;
