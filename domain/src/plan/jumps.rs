//! The jumps of a plan against the club's rules: landings in a session, and the time between sessions with jumps.
//!
//! Only what the sessions say counts: those of games, and of sessions that say nothing of landings, come on top, and what was jumped
//! before the plan is not looked at.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Plan, PlanSession};
use crate::contacts::Contacts;
use crate::exact::Decimal;
use crate::figure::Bounds;
use crate::judge::{Certainty, Outcome};
use crate::jump_rules::{jump_gap_between, landing_contacts};
use crate::jump_times::{DAY, JumpTimes};
use crate::reason::Reason;
use crate::rule::{Rule, RuleCode};
use crate::series::days_between;
use crate::week::IsoWeek;

/// A planned session that says its landings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedJumps {
    /// Its date.
    pub date: Date,
    /// Its landings.
    pub contacts: Contacts,
    /// Seconds from the end of the last planned jumps; where a start is not said, as bounds with the shortest as the point. `None`
    /// without jumps, and for the first with any.
    pub since_jumps: Option<Bounds<i64>>,
}

/// A planned session that breaks a rule about jumps, or may.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JumpBreach {
    /// The session.
    pub session: PlannedJumps,
    /// Certain, or possible by what cannot be told of its landings or its start.
    pub certainty: Certainty,
}

/// A rule about jumps, judged for the sessions of a week.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JumpsJudgement {
    /// The rule.
    pub rule: RuleCode,
    /// Its limit: landings, or hours.
    pub limit: Decimal,
    /// The sessions that break it, by date.
    pub breaches: Vec<JumpBreach>,
    /// What it says of the week.
    pub outcome: Outcome,
}

/// Judges the sessions of a week by one rule, switched on or not; `None` if it is not about jumps. A first session with jumps has no
/// time before it: then the gap is [`Reason::NothingBefore`] unless another is too short.
#[must_use]
pub fn judge_jumps(rule: &Rule, sessions: &[PlannedJumps]) -> Option<JumpsJudgement> {
    let judge = |session: &PlannedJumps| match rule.code {
        RuleCode::LandingContacts => Some(landing_contacts(rule.limit, &session.contacts)),
        _ => Some(jump_gap_between(rule.limit, session.since_jumps?)),
    };
    if !matches!(rule.code, RuleCode::LandingContacts | RuleCode::JumpGap) {
        return None;
    }
    let breaches = sessions.iter().filter_map(|session| {
        let certainty = match judge(session)?.outcome {
            Outcome::Raised(certainty) => certainty,
            Outcome::NotRaised | Outcome::NotComputable(_) => return None,
        };
        Some(JumpBreach {
            session: *session,
            certainty,
        })
    });
    let breaches: Vec<JumpBreach> = breaches.collect();
    let certain = breaches
        .iter()
        .any(|breach| breach.certainty == Certainty::Certain);
    let first =
        |session: &PlannedJumps| session.contacts.has_jumps() && session.since_jumps.is_none();
    let outcome = match (breaches.is_empty(), rule.code) {
        (true, RuleCode::JumpGap) if sessions.iter().any(first) => {
            Outcome::NotComputable(Reason::NothingBefore)
        }
        (is_kept, _) => Outcome::of(certain, !is_kept),
    };
    Some(JumpsJudgement {
        rule: rule.code,
        limit: rule.limit,
        breaches,
        outcome,
    })
}

/// The sessions that say their landings, by week and date.
pub(super) fn planned_jumps(plan: &Plan) -> BTreeMap<IsoWeek, Vec<PlannedJumps>> {
    let monday = plan.first().monday();
    let mut last: Option<Bounds<i64>> = None;
    let mut weeks: BTreeMap<IsoWeek, Vec<PlannedJumps>> = BTreeMap::new();
    for week in plan.weeks() {
        let mut sessions: Vec<&PlanSession> = plan.sessions_of(week).iter().collect();
        sessions.sort_by_key(|session| (session.date, session.start));
        for session in sessions {
            let Some(contacts) = session.contacts else {
                continue;
            };
            let midnight = days_between(monday, session.date) * DAY;
            let when = JumpTimes::of(midnight, session.start, Some(session.minutes));
            let jumps = contacts.has_jumps();
            weeks.entry(week).or_default().push(PlannedJumps {
                date: session.date,
                contacts,
                since_jumps: last.filter(|_| jumps).map(|last| when.since(last)),
            });
            if jumps {
                last = Some(when.last_end(last));
            }
        }
    }
    weeks
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Time, date, time};
    use proptest::prelude::*;

    use super::*;
    use crate::session::{Kind, Setting};
    use crate::units::{Minutes, Rpe};

    const MONDAY: Date = date(2026, 8, 3);

    fn session(date: Date, start: Option<Time>, contacts: Option<Contacts>) -> PlanSession {
        PlanSession {
            date,
            start,
            setting: Setting::Club,
            kind: Kind::Practice,
            intended: Rpe::from_f64(5.0).unwrap(),
            minutes: Minutes::new(60).unwrap(),
            protected: false,
            contacts,
            warm_up: None,
        }
    }

    fn landings(both_feet: u32, not_known: u32) -> Option<Contacts> {
        Some(Contacts {
            both_feet,
            not_known,
            ..Contacts::default()
        })
    }

    fn rule(code: RuleCode, limit: i32) -> Rule {
        Rule {
            code,
            enabled: false,
            ratio_kind: None,
            limit: Decimal::hundredths(100 * limit),
            window: None,
            source_note: "The club's choice.".into(),
        }
    }

    /// What a rule says of each week of a plan of two, and the dates that break it.
    fn judged(rule: &Rule, sessions: Vec<PlanSession>) -> Vec<(Outcome, Vec<Date>)> {
        let plan = Plan::new(IsoWeek::of(MONDAY).unwrap(), 2, sessions).unwrap();
        let weeks = planned_jumps(&plan);
        let of = |week| {
            let sessions = weeks.get(&week).map_or(&[][..], Vec::as_slice);
            let judged = judge_jumps(rule, sessions).unwrap();
            let dates = judged.breaches.iter().map(|breach| breach.session.date);
            (judged.outcome, dates.collect())
        };
        plan.weeks().map(of).collect()
    }

    const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);
    const POSSIBLE: Outcome = Outcome::Raised(Certainty::Possible);

    #[test]
    fn a_session_has_no_more_landings_than_the_limit() {
        let limit = rule(RuleCode::LandingContacts, 100);
        let (tuesday, friday) = (date(2026, 8, 4), date(2026, 8, 7));
        let of = |contacts| {
            let two = vec![
                session(tuesday, None, landings(100, 0)),
                session(friday, None, contacts),
            ];
            judged(&limit, two)
        };
        let nothing = (Outcome::NotRaised, Vec::new());
        assert_eq!(of(landings(100, 0)), [nothing.clone(), nothing.clone()]);
        assert_eq!(of(None), [nothing.clone(), nothing.clone()]);
        assert_eq!(of(landings(101, 0))[0], (CERTAIN, vec![friday]));
        assert_eq!(of(landings(90, 1))[0], (POSSIBLE, vec![friday]));
    }

    #[test]
    fn the_time_between_jumps_goes_over_the_end_of_a_week() {
        let gap = rule(RuleCode::JumpGap, 48);
        let (sunday, monday) = (date(2026, 8, 9), date(2026, 8, 10));
        let nine = Some(time(9, 0, 0, 0));
        let of = |start, next, contacts| {
            let two = vec![
                session(sunday, nine, landings(10, 0)),
                session(next, start, contacts),
            ];
            judged(&gap, two)
        };
        let first = (Outcome::NotComputable(Reason::NothingBefore), Vec::new());
        assert_eq!(
            of(nine, monday, landings(1, 0)),
            [first.clone(), (CERTAIN, vec![monday])]
        );
        // 47 hours from 10:00 to 09:00 two days on.
        let tuesday = date(2026, 8, 11);
        assert_eq!(of(nine, tuesday, landings(1, 0))[1].0, CERTAIN);
        let ten = Some(time(10, 0, 0, 0));
        assert_eq!(of(ten, tuesday, landings(1, 0))[1].0, Outcome::NotRaised);
        assert_eq!(of(None, tuesday, landings(0, 1))[1].0, POSSIBLE);
        // What has no jumps, or does not say, is no end and no beginning.
        assert_eq!(of(nine, monday, landings(0, 0))[1].0, Outcome::NotRaised);
        assert_eq!(of(nine, monday, None)[1].0, Outcome::NotRaised);
    }

    #[test]
    fn other_rules_are_not_about_jumps() {
        let others = RuleCode::ALL
            .iter()
            .filter(|code| judge_jumps(&rule(**code, 1), &[]).is_none());
        assert_eq!(others.count(), RuleCode::ALL.len() - 2);
    }

    proptest! {
        /// Whatever the order in which sessions are given, and the day on which a plan begins, the same is broken.
        #[test]
        fn the_order_of_sessions_does_not_matter(
            days in prop::collection::btree_map(0_i64..14, (prop::option::of(0_i8..24), 0_u32..3), 1..10),
            reversed in any::<bool>(),
        ) {
            let of = |(day, (hour, jumps)): (&i64, &(Option<i8>, u32))| {
                let date = MONDAY.saturating_add(jiff::Span::new().days(*day));
                session(date, hour.map(|hour| time(hour, 0, 0, 0)), landings(*jumps, 0))
            };
            let sessions: Vec<PlanSession> = days.iter().map(of).collect();
            let mut other = sessions.clone();
            if reversed {
                other.reverse();
            }
            let gap = rule(RuleCode::JumpGap, 48);
            prop_assert_eq!(judged(&gap, sessions), judged(&gap, other));
        }

        /// A start that is said can only settle what was possible.
        #[test]
        fn a_start_that_is_said_makes_it_no_less_sure(days in 1_i64..4, first in 0_i8..23, second in 0_i8..23) {
            let gap = rule(RuleCode::JumpGap, 48);
            let next = MONDAY.saturating_add(jiff::Span::new().days(days));
            let of = |first: Option<i8>, second: Option<i8>| {
                let at = |hour: Option<i8>| hour.map(|hour| time(hour, 0, 0, 0));
                let two = vec![
                    session(MONDAY, at(first), landings(1, 0)),
                    session(next, at(second), landings(1, 0)),
                ];
                judged(&gap, two)[0].0
            };
            let (said, open) = (of(Some(first), Some(second)), of(None, None));
            let not_raised = |outcome| !matches!(outcome, Outcome::Raised(_));
            prop_assert!(open == POSSIBLE || said == open || (not_raised(said) && not_raised(open)), "{said:?} {open:?}");
        }
    }
}
