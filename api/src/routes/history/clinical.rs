//! What clinicians limit and have decided, as it is sent.

use jiff::civil::Date;
use plimsoll_domain::restriction::{Instruction, Restriction};
use serde::Serialize;
use utoipa::ToSchema;

use crate::ids::ClearanceId;
use crate::services::history::History;
use crate::store::clearances::ClearanceRecord;

/// A restriction that stands, as coaches are told it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"from": "2026-11-09", "review_date": "2026-11-27", "until": "2026-11-26",
    "availability": "limited", "instruction": "Max 60 min; no games to 2026-11-26."}))]
pub struct CurrentRestriction {
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// From this day on coaches are told to ask.
    #[schema(value_type = String, format = Date)]
    pub review_date: Date,
    /// The last day of what the instruction says, where there is one.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
    /// limited, ask or not_available.
    #[schema(value_type = String)]
    pub availability: &'static str,
    /// One sentence.
    pub instruction: String,
}

/// What a clinician decided, from the record.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"clearance_id": "0199a1b2-9999-7e4f-8a5b-6c7d8e9f0a1b", "decision": "return_to_participation",
    "scope": "practice without contact", "name": "Runa F.", "licence_type": "athletic trainer",
    "decided_on": "2026-11-20", "document_reference": "file 12/2026"}))]
pub struct RecordedDecision {
    /// Its id.
    pub clearance_id: ClearanceId,
    /// The clinician's stage: return_to_participation, return_to_sport, return_to_performance or not_yet.
    #[schema(value_type = String)]
    pub decision: &'static str,
    /// What it covers, in the clinician's words.
    pub scope: String,
    /// Who decided.
    pub name: String,
    /// By which licence.
    pub licence_type: String,
    /// When.
    #[schema(value_type = String, format = Date)]
    pub decided_on: Date,
    /// Where the signed document is kept.
    pub document_reference: String,
}

impl CurrentRestriction {
    /// Those that stand on the day.
    pub(super) fn all(history: &History) -> Vec<Self> {
        let told = |one: &Restriction| Some(Self::new(one, one.on(history.today)?));
        history.restrictions.iter().filter_map(told).collect()
    }

    fn new(restriction: &Restriction, told: Instruction) -> Self {
        Self {
            from: restriction.from,
            review_date: restriction.review,
            until: told.until,
            availability: told.availability.code(),
            instruction: told.sentence,
        }
    }
}

impl From<&ClearanceRecord> for RecordedDecision {
    fn from(record: &ClearanceRecord) -> Self {
        let decided = &record.content;
        Self {
            clearance_id: decided.clearance_id,
            decision: decided.decision.code(),
            scope: decided.scope.to_string(),
            name: decided.name.clone(),
            licence_type: decided.licence_type.clone(),
            decided_on: decided.decided_on,
            document_reference: decided.document_reference.to_string(),
        }
    }
}
