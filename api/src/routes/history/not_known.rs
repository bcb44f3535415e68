//! What is not known of a history, and what is not there at all.

use jiff::civil::Date;
use plimsoll_domain::DayState;
use serde::Serialize;
use utoipa::ToSchema;

use super::words;
use crate::services::history::{History, SpanTotal};
use crate::web::figures::LoadBounds;

/// What is not known of the span, and how far the load can be from what is logged.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"unlogged_sessions": 4, "settings_not_shared": 1,
    "not_shared": [{"organisation": "Fjordby Gymnastics"}], "member_since": "2025-08-01",
    "span_au": {"point": 31240.0, "low": 31240.0, "high": 36870.0},
    "days": [{"state": "reported", "days": 190}, {"state": "unlogged", "days": 3}]}))]
pub struct NotKnown {
    /// Expected sessions that nobody has answered.
    pub unlogged_sessions: u32,
    /// Organisations whose sessions are not shared with the club.
    pub settings_not_shared: usize,
    /// Which those are.
    pub not_shared: Vec<NotShared>,
    /// The first membership date: nothing is known of the days before.
    #[schema(value_type = String, format = Date)]
    pub member_since: Date,
    /// The load of the span as logged, at the least and at the most.
    pub span_au: LoadBounds,
    /// How many days are in which state; they sum to the span.
    pub days: Vec<DaysInState>,
}

/// An organisation that shares nothing with the club.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"organisation": "Fjordby Gymnastics"}))]
pub struct NotShared {
    /// As her family calls it.
    pub organisation: String,
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
    pub(super) fn new(total: &SpanTotal, member_since: Date, not_shared: &[String]) -> Self {
        let states = DayState::ALL.iter();
        let days = states.map(|state| DaysInState {
            state: state.code(),
            days: total.states.get(state).copied().unwrap_or(0),
        });
        Self {
            unlogged_sessions: total.unlogged,
            settings_not_shared: not_shared.len(),
            not_shared: not_shared
                .iter()
                .cloned()
                .map(|organisation| NotShared { organisation })
                .collect(),
            member_since,
            span_au: total.load.into(),
            days: days.collect(),
        }
    }
}

impl NotIncluded {
    /// Everything that is left out; tests and pain reports too where consent to them is wanting.
    pub(super) fn all(history: &History) -> Vec<Self> {
        let tests = history.tests_withheld.then_some(&words::TESTS_WITHHELD);
        let pain = history.pain_withheld.then_some(&words::PAIN_WITHHELD);
        let withheld = tests.into_iter().chain(pain);
        let left_out = withheld.chain(words::NOT_INCLUDED);
        left_out.map(|(what, why)| Self { what, why }).collect()
    }
}
