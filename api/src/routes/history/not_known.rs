//! What is not known of a history, and what is not there at all.

use jiff::civil::Date;
use plimsoll_domain::DayState;
use serde::Serialize;
use utoipa::ToSchema;

use super::words;
use crate::services::history::SpanTotal;
use crate::web::figures::LoadBounds;

/// What is not known of the span, and how far the load can be from what is logged.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"unlogged_sessions": 4, "settings_not_shared": 0, "member_since": "2025-08-01",
    "span_au": {"point": 31240.0, "low": 31240.0, "high": 36870.0},
    "days": [{"state": "reported", "days": 190}, {"state": "unlogged", "days": 3}]}))]
pub struct NotKnown {
    /// Expected sessions that nobody has answered.
    pub unlogged_sessions: u32,
    /// Organisations whose sessions are not shared with the club.
    pub settings_not_shared: u32,
    /// The first membership date: nothing is known of the days before.
    #[schema(value_type = String, format = Date)]
    pub member_since: Date,
    /// The load of the span as logged, at the least and at the most.
    pub span_au: LoadBounds,
    /// How many days are in which state; they sum to the span.
    pub days: Vec<DaysInState>,
}

/// So many days are in this state.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"state": "unlogged", "days": 3}))]
pub struct DaysInState {
    /// reported, rest_declared, assumed_rest, absence, partly_reported, unlogged or before_membership.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// How many.
    pub days: u32,
}

/// Something that is not there, and why.
#[derive(Debug, Serialize, ToSchema)]
pub struct NotIncluded {
    /// What.
    #[schema(value_type = String, example = "pain_reports")]
    pub what: &'static str,
    /// Why.
    #[schema(value_type = String)]
    pub why: &'static str,
}

impl NotKnown {
    pub(super) fn new(total: &SpanTotal, member_since: Date) -> Self {
        let states = DayState::ALL.iter();
        let days = states.map(|state| DaysInState {
            state: state.code(),
            days: total.states.get(state).copied().unwrap_or(0),
        });
        Self {
            unlogged_sessions: total.unlogged,
            settings_not_shared: 0,
            member_since,
            span_au: total.load.into(),
            days: days.collect(),
        }
    }
}

impl NotIncluded {
    /// Everything that is left out.
    pub(super) fn all() -> Vec<Self> {
        let left_out = words::NOT_INCLUDED.iter();
        left_out.map(|(what, why)| Self { what, why }).collect()
    }
}
