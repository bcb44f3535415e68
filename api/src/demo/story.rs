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
    /// Back from an absence of more than two weeks.
    Return,
    /// Sessions at the same time: over the limit only if all were done.
    Overlapping,
}

/// First and last day of the absence of [`Story::Return`], in days before the last Sunday.
pub(super) const ABSENCE: (i64, i64) = (48, 21);

impl Story {
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
            (Story::Return, 0..=2) => halve(plan),
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

/// Half the minutes.
fn halve(plan: &mut Week) {
    for session in plan.iter_mut().flatten() {
        session.minutes /= 2;
    }
}

/// A private lesson reported over club practice, and a school game over the club's: she cannot have
/// done both in full.
fn overlap(plan: &mut Week) {
    plan[3].push(Planned::new(Setting::Private, Kind::Practice, 18, 75, 7.0));
    plan[5].push(Planned::new(Setting::SchoolTeam, Kind::Game, 13, 60, 6.0));
}
