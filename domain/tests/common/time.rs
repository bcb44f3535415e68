//! Sessions in time, and what they come to in a week.

use jiff::civil::{Date, date};
use plimsoll_domain::{
    AthleteTime, Attended, ByPe, IsoWeek, Kind, Minutes, OrganisedJudgement, OrganisedWeek,
    RuleCode, SessionTime, Setting, Slot, judge_organised, organised_week,
};

use super::{example_policy, four};

/// A session of so many minutes that begins so many minutes after midnight, attended in full.
pub fn session(on: Date, start: i64, minutes: i64, setting: Setting, kind: Kind) -> SessionTime {
    let midnight = on.duration_since(date(2026, 1, 1)).as_secs();
    let start = midnight + 60 * start;
    SessionTime {
        slot: Slot {
            date: on,
            start,
            end: start + 60 * minutes,
            setting,
        },
        kind,
        attended: Attended::Known(Minutes::new(minutes).unwrap()),
    }
}

pub fn time(sessions: &[SessionTime], settings_not_shared: u32) -> AthleteTime<'_> {
    AthleteTime {
        member_since: date(2026, 1, 1),
        sessions,
        settings_not_shared,
    }
}

/// The week that begins on a Monday as the example policy counts it, with PE and without.
pub fn by_pe(
    sessions: &[SessionTime],
    monday: Date,
    settings_not_shared: u32,
) -> ByPe<OrganisedWeek> {
    let time = time(sessions, settings_not_shared);
    let week = IsoWeek::of(monday).unwrap();
    let organised = example_policy().organised();
    organised.map(|organised| organised_week(&time, organised, week).unwrap())
}

/// What the example policy's rule says of the week.
pub fn judged_time(code: RuleCode, born: Date, week: &OrganisedWeek) -> OrganisedJudgement {
    let policy = example_policy();
    judge_organised(policy.rule(code).unwrap(), Some(born), week).unwrap()
}

/// Organised hours and how far they are above the age, of a week that is logged.
pub fn hours_by_age(born: Date, week: &OrganisedWeek) -> (String, String) {
    let judged = judged_time(RuleCode::OrganisedHours, born, week);
    let against = judged.against.unwrap();
    assert_eq!(against.value.low, against.value.high, "all is logged");
    (four(against.value.point), four(against.beyond_by.point))
}
