//! Counts of a session as they are answered.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use super::row;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, SessionId};
use crate::store::Versioned;
use crate::store::session_contacts::SessionContacts;

/// What was counted in a session: as given, and by events and legs.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "session_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b",
    "landings": {"both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24}, "throws": 80, "basis": "counted",
    "events": 163, "left_leg": 112, "right_leg": 112, "received_at": "2026-09-10T17:25:02Z", "version": 1, "warnings": []}))]
pub struct SessionContactsAnswer {
    /// The report of the session.
    pub session_id: SessionId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Landings; null where they were not counted.
    pub landings: Option<CountedLandings>,
    /// Throws; null where they were not counted.
    pub throws: Option<u32>,
    /// counted or estimated.
    #[schema(value_type = String)]
    pub basis: &'static str,
    /// Landings on feet, each once; null where they were not counted.
    pub events: Option<u32>,
    /// Landings that the left leg took, those on both feet included.
    pub left_leg: Option<u32>,
    /// Landings that the right leg took, those on both feet included.
    pub right_leg: Option<u32>,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What is odd about it; see /problems for each code.
    #[schema(value_type = Vec<String>, example = json!(["many_landings"]))]
    pub warnings: Vec<Code>,
}

/// Landings of a session as they were counted.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24}))]
pub struct CountedLandings {
    /// On both feet.
    pub both_feet: u32,
    /// On the left foot alone.
    pub left_foot: u32,
    /// On the right foot alone.
    pub right_foot: u32,
    /// How many of those on feet were under load; null where that was not counted.
    pub loaded: Option<u32>,
    /// On hands; null where they were not counted.
    pub hands: Option<u32>,
}

impl SessionContactsAnswer {
    /// The answer for a stored version.
    pub fn new(stored: &Versioned<SessionContacts>) -> Result<Self, Problem> {
        let Versioned { content, version } = stored;
        let counts = row::counts(content)?;
        let landings = counts.landings();
        let contacts = landings.map(|landings| landings.contacts());
        let many = landings.is_some_and(|landings| landings.are_many());
        Ok(Self {
            session_id: content.session_id,
            athlete_id: content.athlete_id,
            landings: landings.map(|landings| {
                let contacts = landings.contacts();
                CountedLandings {
                    both_feet: contacts.both_feet,
                    left_foot: contacts.left_foot,
                    right_foot: contacts.right_foot,
                    loaded: landings.loaded(),
                    hands: landings.hands(),
                }
            }),
            throws: counts.throws(),
            basis: counts.basis().code(),
            events: contacts.map(|contacts| contacts.events()),
            left_leg: contacts.map(|contacts| contacts.left_leg()),
            right_leg: contacts.map(|contacts| contacts.right_leg()),
            received_at: version.received_at,
            version: version.number,
            warnings: many.then_some(Code::ManyLandings).into_iter().collect(),
        })
    }
}
