//! What the last weeks of some athletes have to tell, one for each thing the weekly list can find.

use super::plan::{Planned, Week};
use plimsoll_domain::{Kind, Setting};

/// A story.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Story {
    /// Nothing special.
    Usual,
    /// A school tournament on top of an ordinary club week: only the whole shows it.
    SchoolTournament,
    /// The highest week in a while, with a ratio well within the limit.
    OwnHighest,
    /// Much the same every day.
    Monotonous,
    /// Exactly the same every day.
    EqualDays,
    /// New in the club: no ratio can exist yet.
    Joiner,
    /// Back from an absence of four weeks: slowly at first, then at once as before.
    Return,
    /// Much beside the club, and none of the club's own sessions logged.
    Forgetful,
    /// Nothing logged at all.
    Silent,
    /// Sessions at the same time: over the limit only if all were done.
    Overlapping,
}

/// First and last day of the absence of [`Story::Return`], in days before the last Sunday.
pub(super) const ABSENCE: (i64, i64) = (48, 21);

impl Story {
    /// Whether sessions of the last week that she was at are missing from her log.
    pub(super) const fn leaves_open(self) -> bool {
        matches!(self, Story::Forgetful | Story::Silent)
    }

    /// Changes the plan of a week, `back` weeks before the last. `plan` is Monday to Sunday.
    pub(super) fn tell(self, back: i64, plan: &mut Week) {
        match (self, back) {
            (Story::SchoolTournament, 0) => tournament(plan),
            (Story::OwnHighest, 0) => {
                plan[1].push(Planned::new(Setting::Private, Kind::Practice, 19, 60, 6.0));
                plan[6].push(Planned::new(Setting::Club, Kind::Game, 11, 60, 8.0));
            }
            (Story::Monotonous, 0) => fill(plan, |day| {
                let (minutes, rpe) = ALIKE[day];
                Planned::new(Setting::Club, Kind::Practice, 17, minutes, rpe)
            }),
            (Story::EqualDays, 0) => fill(plan, |_| {
                Planned::new(Setting::PrescribedHome, Kind::Conditioning, 17, 45, 5.0)
            }),
            (Story::Return, 2) => shorten(plan, 3),
            (Story::Return, 1) => shorten(plan, 5),
            (Story::Forgetful, 0) => beside_the_club(plan),
            (Story::Silent, 0) => plan.iter_mut().for_each(Vec::clear),
            (Story::Overlapping, 0) => overlap(plan),
            _ => {}
        }
    }
}

/// Minutes and rating of days that are much alike, Monday to Sunday.
const ALIKE: [(u16, f64); 7] = [
    (55, 6.0),
    (50, 5.0),
    (60, 6.0),
    (45, 5.0),
    (55, 6.0),
    (50, 7.0),
    (40, 3.0),
];

/// Six games over two school days.
fn tournament(plan: &mut Week) {
    for day in [1, 4] {
        plan[day].clear();
        for hour in [9, 11, 13] {
            plan[day].push(Planned::new(Setting::SchoolTeam, Kind::Game, hour, 45, 9.5));
        }
    }
}

fn fill(plan: &mut Week, session: impl Fn(usize) -> Planned) {
    for (day, sessions) in plan.iter_mut().enumerate() {
        *sessions = vec![session(day)];
    }
}

/// So many tenths of the minutes.
fn shorten(plan: &mut Week, tenths: u16) {
    for session in plan.iter_mut().flatten() {
        session.minutes = session.minutes * tenths / 10;
    }
}

/// A lesson, a school game and practice with a second club; what the club ran is left out.
fn beside_the_club(plan: &mut Week) {
    for sessions in plan.iter_mut() {
        sessions.retain(|session| session.setting != Setting::Club);
    }
    plan[1].push(Planned::new(Setting::Private, Kind::Practice, 19, 60, 6.0));
    plan[3].push(Planned::new(Setting::SchoolTeam, Kind::Game, 10, 60, 8.0));
    plan[6].push(Planned::new(
        Setting::SecondClub,
        Kind::Practice,
        11,
        75,
        7.0,
    ));
}

/// A private lesson reported over club practice, and a school game over the club's: she cannot have
/// done both in full.
fn overlap(plan: &mut Week) {
    plan[3].push(Planned::new(Setting::Private, Kind::Practice, 18, 75, 7.0));
    plan[5].push(Planned::new(Setting::SchoolTeam, Kind::Game, 13, 60, 6.0));
}
