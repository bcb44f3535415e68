//! Weeks of a history, as they are sent.

use plimsoll_domain::{IsoWeek, Kind};
use serde::Serialize;
use utoipa::ToSchema;

use crate::services::history::{HistoryWeek, KindLoad};
use crate::web::figures::LoadBounds;

/// One ISO week, as far as it lies in the span and in the membership.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"week": "2026-W46", "days": 7,
    "load_au": {"point": 900.0, "low": 900.0, "high": 1500.0}, "minutes": 180, "sessions": 3,
    "expected": 4, "unlogged": 1, "days_absent": 0,
    "by_kind": [{"kind": "practice", "load_au": {"point": 900.0, "low": 900.0, "high": 1500.0},
        "sessions": 3, "minutes": 180, "unlogged": 1}]}))]
pub struct WeekOfHistory {
    /// The week.
    #[schema(example = "2026-W46")]
    pub week: String,
    /// How many of its days count; 7, or fewer at an end.
    pub days: u32,
    /// Load of those days.
    pub load_au: LoadBounds,
    /// Minutes reported.
    pub minutes: u32,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected whose planned end has passed.
    pub expected: u32,
    /// Those of them that are not logged.
    pub unlogged: u32,
    /// Days within an absence.
    pub days_absent: u32,
    /// The same by kind of session.
    pub by_kind: Vec<KindOfSession>,
}

/// One kind of session in a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"kind": "game", "load_au": {"point": 680.0, "low": 680.0, "high": 680.0},
    "sessions": 1, "minutes": 80, "unlogged": 0}))]
pub struct KindOfSession {
    /// practice, game, strength, conditioning, rehabilitation or other.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Its load.
    pub load_au: LoadBounds,
    /// Sessions reported.
    pub sessions: u32,
    /// Minutes reported.
    pub minutes: u32,
    /// Expected sessions that are not logged.
    pub unlogged: u32,
}

impl WeekOfHistory {
    pub(super) fn new(week: IsoWeek, sum: &HistoryWeek) -> Self {
        let kinds = sum.by_kind.iter();
        Self {
            week: week.to_string(),
            days: sum.days,
            load_au: sum.load.into(),
            minutes: sum.minutes,
            sessions: sum.sessions,
            expected: sum.expected,
            unlogged: sum.unlogged,
            days_absent: sum.absent_days,
            by_kind: kinds
                .map(|(kind, sum)| KindOfSession::new(*kind, sum))
                .collect(),
        }
    }
}

impl KindOfSession {
    fn new(kind: Kind, sum: &KindLoad) -> Self {
        Self {
            kind: kind.code(),
            load_au: sum.load.into(),
            sessions: sum.sessions,
            minutes: sum.minutes,
            unlogged: sum.unlogged,
        }
    }
}
