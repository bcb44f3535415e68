//! A revocation as it is answered.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::ids::RevocationId;
use crate::store::revocations::Revocation;

/// A revocation: from then on the token, or every token of the subject, is refused.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"revocation_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "kind": "subject", "value": "coach-3", "reason": "telephone lost", "by": "admin-1",
    "at": "2026-11-09T06:10:00Z", "lifted_at": null}))]
pub struct RevocationAnswer {
    /// Its id.
    pub revocation_id: RevocationId,
    /// token or subject.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// The token's id (`jti`), or the subject.
    pub value: String,
    /// Why.
    pub reason: String,
    /// Who did it.
    pub by: String,
    /// Since when.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// When it was lifted.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub lifted_at: Option<Timestamp>,
}

impl From<Revocation> for RevocationAnswer {
    fn from(row: Revocation) -> Self {
        Self {
            revocation_id: row.revocation_id,
            kind: row.kind.code(),
            value: row.value,
            reason: row.reason,
            by: row.revoked_by,
            at: row.received_at,
            lifted_at: row.lifted_at,
        }
    }
}
