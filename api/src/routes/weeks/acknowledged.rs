//! What was done about an entry of the weekly list, as it is sent.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::store::Private;
use crate::store::flags::Acknowledgement;

/// What was last done about the flag of an entry.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"action": "talked", "note": null, "by": "coach-3", "role": "coach",
    "at": "2026-11-09T06:10:00Z"}))]
pub struct Acknowledged {
    /// talked, reduced, moved, rested, no_change or other.
    pub action: String,
    /// A note.
    pub note: Option<String>,
    /// Who.
    pub by: String,
    /// In which role.
    pub role: String,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
}

impl From<Acknowledgement> for Acknowledged {
    fn from(one: Acknowledgement) -> Self {
        Self {
            action: one.action,
            note: one.note.map(Private::into_inner),
            by: one.by_subject,
            role: one.acting_role,
            at: one.received_at,
        }
    }
}
