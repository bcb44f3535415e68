//! An erasure as it is told.

use jiff::Timestamp;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use crate::ids::{AthleteId, ErasureId};
use crate::store::ErasureReason;
use crate::store::erasures::Erasure;
use crate::store::subject_records::{self, Counts};

const NOTE: &str = "Backups and the database's own log of changes still hold what was erased until they are over; whoever runs the \
    service keeps to the terms for these. What has to stay is for local law to say.";

/// What was erased, and what stays.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "erasure_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c",
    "at": "2026-11-09T07:00:00Z", "reason": "asked_by_guardian", "erased": [{"table": "session_reports", "rows": 214}],
    "stays": [{"table": "audit_reads", "reason": "the list of who read what is only ever added to"}],
    "note": "Backups still hold what was erased until they are over."}))]
pub struct ErasureAnswer {
    /// The id of the erasure.
    pub erasure_id: ErasureId,
    /// The athlete; nothing is known by this id any more.
    pub athlete_id: AthleteId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// Why.
    #[schema(value_type = String)]
    pub reason: ErasureReason,
    /// How many rows of each table were deleted or, where they belong to others too, freed of her.
    pub erased: Vec<RowsErased>,
    /// What stays, and why.
    pub stays: Vec<StayingTable>,
    /// What an erasure does not reach.
    pub note: &'static str,
}

/// Rows of a table that were erased.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RowsErased {
    /// The table.
    pub table: String,
    /// How many.
    pub rows: usize,
}

/// A table whose rows stay.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct StayingTable {
    /// The table.
    pub table: &'static str,
    /// Why.
    pub reason: &'static str,
}

impl ErasureAnswer {
    pub(super) fn new(erasure: &Erasure, counts: &Counts) -> Self {
        let stays = subject_records::staying();
        Self {
            erasure_id: erasure.erasure_id,
            athlete_id: erasure.athlete_id,
            at: erasure.at,
            reason: erasure.reason,
            erased: counts
                .iter()
                .map(|(table, rows)| erased(table, *rows))
                .collect(),
            stays: stays
                .map(|(table, reason)| StayingTable { table, reason })
                .collect(),
            note: NOTE,
        }
    }
}

fn erased(table: &str, rows: usize) -> RowsErased {
    RowsErased {
        table: table.to_owned(),
        rows,
    }
}

/// An erasure on the list: the proof without the data.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "erasure_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1c",
    "at": "2026-11-09T07:00:00Z", "role": "privacy_lead", "subject": "lead-1", "reason": "asked_by_guardian",
    "erased": [{"table": "session_reports", "rows": 214}], "filed_at": "2026-11-09T07:00:01Z", "cleaned_at": null}))]
pub struct ErasureEntry {
    /// The id of the erasure.
    pub erasure_id: ErasureId,
    /// Whose records were erased; nothing else is known by this id any more.
    pub athlete_id: AthleteId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// In which role.
    pub role: String,
    /// By whom, as in tokens.
    pub subject: String,
    /// Why.
    #[schema(value_type = String)]
    pub reason: ErasureReason,
    /// How many rows of each table.
    pub erased: Vec<RowsErased>,
    /// When it was written to the file outside the database; null while that is still to be done.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub filed_at: Option<Timestamp>,
    /// When the database was made to forget the bytes too; null while that is still to be done.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub cleaned_at: Option<Timestamp>,
}

impl From<Erasure> for ErasureEntry {
    fn from(erasure: Erasure) -> Self {
        let counts = erasure.counts.as_object().into_iter().flatten();
        let rows = |count: &Value| count.as_u64().and_then(|count| count.try_into().ok());
        Self {
            erasure_id: erasure.erasure_id,
            athlete_id: erasure.athlete_id,
            at: erasure.at,
            reason: erasure.reason,
            erased: counts
                .map(|(table, count)| erased(table, rows(count).unwrap_or_default()))
                .collect(),
            role: erasure.acting_role,
            subject: erasure.by_subject,
            filed_at: erasure.filed_at,
            cleaned_at: erasure.cleaned_at,
        }
    }
}
