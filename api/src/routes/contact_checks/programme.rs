//! What a programme comes to in landings, as it is sent.

use plimsoll_domain::contacts::Contacts;
use plimsoll_domain::{Bounds, Fraction};
use serde::Serialize;
use utoipa::ToSchema;

use super::answer::four;
use crate::ids::ProgrammeId;
use crate::routes::contacts::AgainstJumpRule;
use crate::services::contact_checks::{CheckedProgramme, CheckedSession};
use crate::services::programmes::weekday_name;

/// Landings of a stored programme.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProgrammeContacts {
    /// The programme.
    pub programme_id: ProgrammeId,
    /// Which version of it.
    pub version: i32,
    /// Its sessions in order.
    pub sessions: Vec<SessionLandings>,
    /// Its weeks that have a session.
    pub weeks: Vec<WeekLandings>,
}

/// Landings of a session of a programme.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"week": 1, "day": "thursday", "number": 1, "events": 61, "left_leg": 61, "right_leg": 61, "loaded": 15, "hands": 0,
    "at_least": false, "distance_m": 0.0, "hours_since_last_jumps": {"least": 46.5, "most": 46.5},
    "landing_contacts": {"limit": 100.0, "beyond_by": -39.0, "outcome": "not_raised", "reason": null, "enabled": false,
        "source_note": "club choice"},
    "jump_gap": {"limit": 48.0, "beyond_by": 1.5, "outcome": "certain", "reason": null, "enabled": false,
        "source_note": "club choice"}}))]
pub struct SessionLandings {
    /// The number of its week.
    pub week: u8,
    /// monday to sunday.
    #[schema(value_type = String)]
    pub day: &'static str,
    /// Its number on the day.
    pub number: u8,
    /// Landings on feet, each once.
    pub events: u32,
    /// Landings that the left leg takes.
    pub left_leg: u32,
    /// Landings that the right leg takes.
    pub right_leg: u32,
    /// How many of those on feet are under load.
    pub loaded: u32,
    /// Landings on hands.
    pub hands: u32,
    /// Whether an item's landings cannot be told: the numbers are then "at least".
    pub at_least: bool,
    /// Metres of its items with a way.
    pub distance_m: f64,
    /// From the end of the last jumps to its start; null without jumps, and for the first with any.
    pub hours_since_last_jumps: Option<HoursBetween>,
    /// Its landings on feet against the policy (rule `landing_contacts`); null where it has no such rule.
    pub landing_contacts: Option<AgainstJumpRule>,
    /// The hours since the last jumps against it (rule `jump_gap`), by the least that they may be; null where it has no such rule, and
    /// of a session without landings.
    pub jump_gap: Option<AgainstJumpRule>,
}

/// Hours between two sessions: the ends differ where a start or a length is not said.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"least": 24.0, "most": 72.0}))]
pub struct HoursBetween {
    /// The least that they may be.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// Landings of a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"week": 1, "events": 122, "left_leg": 122, "right_leg": 122, "loaded": 30, "hands": 0, "at_least": false}))]
pub struct WeekLandings {
    /// Its number.
    pub week: u8,
    /// Landings on feet, each once.
    pub events: u32,
    /// Landings that the left leg takes.
    pub left_leg: u32,
    /// Landings that the right leg takes.
    pub right_leg: u32,
    /// How many of those on feet are under load.
    pub loaded: u32,
    /// Landings on hands.
    pub hands: u32,
    /// Whether an item's landings cannot be told: the numbers are then "at least".
    pub at_least: bool,
}

impl HoursBetween {
    /// From seconds.
    pub(crate) fn of(seconds: Bounds<i64>) -> Self {
        let hours = |seconds| Fraction::new(seconds, 60 * 60).map_or(0.0, four);
        Self {
            least: hours(seconds.low),
            most: hours(seconds.high),
        }
    }
}

impl ProgrammeContacts {
    pub(super) fn of(found: &CheckedProgramme) -> Self {
        Self {
            programme_id: found.id,
            version: found.version,
            sessions: found.sessions.iter().map(SessionLandings::of).collect(),
            weeks: found.weeks.iter().map(WeekLandings::of).collect(),
        }
    }
}

impl SessionLandings {
    fn of(found: &CheckedSession) -> Self {
        let all = &found.contacts;
        Self {
            week: found.week,
            day: weekday_name(found.weekday),
            number: found.number,
            events: all.events(),
            left_leg: all.left_leg(),
            right_leg: all.right_leg(),
            loaded: all.loaded,
            hands: all.hands,
            at_least: all.not_known > 0,
            distance_m: four(found.length.to_metres()),
            hours_since_last_jumps: found.since_jumps.map(HoursBetween::of),
            landing_contacts: found.landing_contacts.as_ref().map(AgainstJumpRule::new),
            jump_gap: found.jump_gap.as_ref().map(AgainstJumpRule::new),
        }
    }
}

impl WeekLandings {
    fn of((week, all): (&u8, &Contacts)) -> Self {
        Self {
            week: *week,
            events: all.events(),
            left_leg: all.left_leg(),
            right_leg: all.right_leg(),
            loaded: all.loaded,
            hands: all.hands,
            at_least: all.not_known > 0,
        }
    }
}
