//! How far a programme was followed: which logged session is which planned one.
//!
//! A session that was logged on the date of a planned one, in the same setting and of the same kind, is that session; of several each is
//! one, in order. What is left of the settings that the programme has is beside it; what other adults run is no matter of the programme.
//! A planned session of a day of rest or absence was missed, and of any other that nothing is logged of nothing is known. Common practice,
//! no source.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::Session;
use crate::adherence::Followed;
use crate::load::Load;
use crate::rating::Compared;
use crate::session::{Kind, Setting};
use crate::units::{Minutes, Rpe};

/// A session as it was logged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Logged {
    /// Its date.
    pub date: Date,
    /// Who ran it.
    pub setting: Setting,
    /// What was done.
    pub kind: Kind,
    /// How hard it was.
    pub rpe: Rpe,
    /// What it weighs.
    pub load: Load,
}

/// Planned sessions beside what was logged.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BesidePlan {
    /// Each planned session, and each beside the plan, with its kind.
    pub sessions: Vec<(Kind, Followed)>,
    /// Those done of which an intended RPE was said.
    pub compared: Vec<Compared>,
    /// Planned sessions of which minutes or intended RPE were not said; they count as sessions and weigh nothing.
    pub without_effort: u32,
}

/// Lays what was logged beside the planned sessions of some dates. `off` are days of rest and absence.
#[must_use]
pub fn beside_plan(
    planned: &[(Date, &Session)],
    logged: &[Logged],
    off: &BTreeSet<Date>,
) -> BesidePlan {
    let mut left: Vec<&Logged> = logged.iter().collect();
    let mut found = BesidePlan::default();
    for (date, session) in planned {
        let is_it = |one: &&Logged| {
            (one.date, one.setting, one.kind) == (*date, session.setting, session.kind)
        };
        let load = session.load();
        found.without_effort += u32::from(load.is_none());
        let planned = load.unwrap_or_default();
        let followed = match left.iter().position(is_it) {
            Some(at) => {
                let one = left.remove(at);
                let pair = session.intended.map(|intended| Compared {
                    intended,
                    reported: one.rpe,
                });
                found.compared.extend(pair);
                Followed::Done {
                    planned,
                    done: one.load,
                }
            }
            None if off.contains(date) => Followed::Missed { planned },
            None => match session.minutes.or(Minutes::new(Minutes::MAX.into()).ok()) {
                Some(minutes) => Followed::Unlogged { planned, minutes },
                None => Followed::Missed { planned },
            },
        };
        found.sessions.push((session.kind, followed));
    }
    let settings = |setting| {
        planned
            .iter()
            .any(|(_, session)| session.setting == setting)
    };
    let beside = left.into_iter().filter(|one| settings(one.setting));
    let beside = beside.map(|one| (one.kind, Followed::Extra { done: one.load }));
    found.sessions.extend(beside);
    found
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::adherence::adherence;
    use crate::figure::Bounds;
    use crate::programme::outline::tests::session;

    fn logged(day: i8, setting: Setting, rpe: f64) -> Logged {
        let rpe = Rpe::from_f64(rpe).unwrap();
        Logged {
            date: date(2026, 6, day),
            setting,
            kind: Kind::Strength,
            rpe,
            load: Load::of(rpe, Minutes::new(40).unwrap()),
        }
    }

    #[test]
    fn each_planned_session_is_one_that_was_logged_on_its_date() {
        let meant = session(Vec::new());
        let open = Session {
            minutes: None,
            ..session(Vec::new())
        };
        let planned = [
            (date(2026, 6, 2), &meant),
            (date(2026, 6, 2), &meant),
            (date(2026, 6, 4), &meant),
            (date(2026, 6, 6), &open),
        ];
        let home = Setting::PrescribedHome;
        let done = [
            logged(2, home, 6.5),
            // The club's own practice is no matter of the programme.
            logged(2, Setting::Club, 6.0),
            logged(3, home, 4.0),
        ];
        let found = beside_plan(&planned, &done, &BTreeSet::from([date(2026, 6, 4)]));
        let all = adherence(found.sessions.iter().map(|(_, one)| *one));
        assert_eq!((all.planned_sessions, all.extra_sessions), (4, 1));
        let sessions = Bounds {
            low: 1,
            point: 1,
            high: 3,
        };
        assert_eq!(all.done_sessions, sessions);
        assert_eq!(
            (all.planned, all.done.point),
            (Load::from_au(675), Load::from_au(260))
        );
        // 450 AU for 45 minutes, and 6000 for a session of any length.
        assert_eq!(all.done.high, Load::from_au(260 + 450 + 6000));
        assert_eq!(found.without_effort, 1);
        let gaps: Vec<f64> = found
            .compared
            .iter()
            .map(|pair| pair.gap().to_f64())
            .collect();
        assert_eq!(gaps, [1.5]);
    }
}
