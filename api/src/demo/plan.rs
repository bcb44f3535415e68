//! What a week of a squad is made of.

use plimsoll_domain::{Kind, Setting};
use rand::{Rng, RngExt};

/// A session before it is dated; it starts half past `hour`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Planned {
    pub(super) setting: Setting,
    pub(super) kind: Kind,
    pub(super) hour: i8,
    pub(super) minutes: u16,
    pub(super) rpe: f64,
}

impl Planned {
    pub(super) fn new(setting: Setting, kind: Kind, hour: i8, minutes: u16, rpe: f64) -> Self {
        Self {
            setting,
            kind,
            hour,
            minutes,
            rpe,
        }
    }

    /// The same session, however hard it felt.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        let what = |one: &Self| (one.setting, one.kind, one.hour, one.minutes);
        what(self) == what(other)
    }
}

/// The sessions of a week, Monday to Sunday.
pub(super) type Week = [Vec<Planned>; 7];

/// An ordinary week of a squad, `back` weeks before the last; every fourth is lighter.
pub(super) fn usual_week(squad: usize, back: i64) -> Week {
    use Kind::{Game, Other, Practice, Strength};
    use Setting::{Club, Free, Pe, PrescribedHome, SchoolTeam};
    let lighter = if back % 4 == 3 { 15 } else { 0 };
    let one = |setting, kind, hour, minutes: u16, rpe| {
        vec![Planned::new(setting, kind, hour, minutes - lighter, rpe)]
    };
    match squad {
        0 => [
            one(Club, Practice, 17, 75, 5.5),
            one(Pe, Other, 10, 45, 3.5),
            one(Club, Practice, 17, 75, 5.0),
            vec![],
            one(Pe, Other, 10, 45, 3.0),
            one(Club, Game, 11, 60, 6.5),
            one(Free, Other, 15, 40, 2.0),
        ],
        1 => [
            one(Club, Practice, 17, 90, 6.0),
            one(PrescribedHome, Strength, 16, 45, 5.0),
            one(SchoolTeam, Practice, 14, 75, 5.5),
            one(Club, Practice, 18, 90, 6.0),
            vec![],
            one(Club, Game, 13, 70, 7.5),
            vec![],
        ],
        _ => [
            one(Club, Practice, 18, 90, 6.0),
            one(PrescribedHome, Strength, 16, 45, 6.0),
            one(Club, Practice, 18, 90, 6.5),
            vec![],
            one(PrescribedHome, Strength, 16, 45, 5.5),
            one(Club, Game, 15, 80, 8.0),
            vec![],
        ],
    }
}

/// As weeks go: now and then a session is missed, and no two feel the same.
pub(super) fn vary(plan: &mut Week, random: &mut impl Rng) {
    for sessions in plan {
        sessions.retain(|_| !random.random_bool(0.03));
        for session in sessions {
            session.rpe += [-1.0, -0.5, 0.0, 0.0, 0.5, 1.0][random.random_range(0..6)];
        }
    }
}

/// Now and then somebody does more: a school sports day, a friendly game, practice with an older
/// squad.
pub(super) fn add_extra(plan: &mut Week, random: &mut impl Rng) {
    if !random.random_bool(0.05) {
        return;
    }
    let extra = [
        Planned::new(Setting::SchoolTeam, Kind::Other, 8, 120, 6.0),
        Planned::new(Setting::Club, Kind::Game, 20, 60, 8.0),
        Planned::new(Setting::Club, Kind::Practice, 20, 75, 7.0),
    ];
    let school_day = random.random_range(0..5);
    plan[school_day].push(extra[random.random_range(0..3)].clone());
}
