//! The warm-up of a planned session, as it is answered.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::ids::EventId;
use crate::store::Versioned;
use crate::store::event_warm_ups::EventWarmUp;

/// The neuromuscular warm-up of a planned session, as it was held.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "minutes": 15,
    "categories": ["strength", "jump", "balance"], "feedback": true, "received_at": "2026-09-01T19:05:00Z", "version": 1}))]
pub struct EventWarmUpAnswer {
    /// The planned session.
    pub event_id: EventId,
    /// Its minutes; 0 where none was held.
    pub minutes: u16,
    /// What it held: strength, jump, agility, balance, flexibility.
    #[schema(value_type = Vec<String>)]
    pub categories: Vec<&'static str>,
    /// Whether feedback on technique was given.
    pub feedback: bool,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl EventWarmUpAnswer {
    /// The answer for a stored version.
    pub fn new(stored: &Versioned<EventWarmUp>) -> Result<Self, Problem> {
        let warm_up = super::warm_up(&stored.content)?;
        Ok(Self {
            event_id: stored.content.event_id,
            minutes: warm_up.minutes().get(),
            categories: warm_up.categories().iter().map(|one| one.code()).collect(),
            feedback: warm_up.feedback(),
            received_at: stored.version.received_at,
            version: stored.version.number,
        })
    }
}
