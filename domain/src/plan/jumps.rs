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
    /// Whether it is the first with jumps, or may be: beside one on its day that may lie before it or after it, with none before both.
    /// Then `since_jumps` is the time if it is not the first.
    pub may_be_first: bool,
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

/// Judges the sessions of a week that say their landings by one rule, switched on or not, beside `not_said` sessions that do not; `None`
/// if it is not about jumps. See [`super::WeekCheck::judge_jumps`].
pub(super) fn judge_jumps(
    rule: &Rule,
    sessions: &[PlannedJumps],
    not_said: u32,
) -> Option<JumpsJudgement> {
    if !matches!(rule.code, RuleCode::LandingContacts | RuleCode::JumpGap) {
        return None;
    }
    let breaches = sessions.iter().filter_map(|session| breach(rule, session));
    let breaches: Vec<JumpBreach> = breaches.collect();
    let certain = breaches
        .iter()
        .any(|breach| breach.certainty == Certainty::Certain);
    let outcome = match (breaches.is_empty(), rule.code) {
        (true, _) if sessions.is_empty() && not_said > 0 => {
            Outcome::NotComputable(Reason::NothingSaid)
        }
        (true, RuleCode::JumpGap) if sessions.iter().any(|session| session.may_be_first) => {
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

fn breach(rule: &Rule, session: &PlannedJumps) -> Option<JumpBreach> {
    let is_gap = rule.code == RuleCode::JumpGap;
    let judged = match is_gap {
        true => jump_gap_between(rule.limit, session.since_jumps?),
        false => landing_contacts(rule.limit, &session.contacts),
    };
    let certainty = match judged.outcome {
        Outcome::Raised(_) if is_gap && session.may_be_first => Certainty::Possible,
        Outcome::Raised(certainty) => certainty,
        Outcome::NotRaised | Outcome::NotComputable(_) => return None,
    };
    Some(JumpBreach {
        session: *session,
        certainty,
    })
}

/// The sessions that say their landings, by week, date and start.
pub(super) fn planned_jumps(plan: &Plan) -> BTreeMap<IsoWeek, Vec<PlannedJumps>> {
    let monday = plan.first().monday();
    let mut before: Option<Bounds<i64>> = None;
    let mut weeks: BTreeMap<IsoWeek, Vec<PlannedJumps>> = BTreeMap::new();
    for week in plan.weeks() {
        let sessions = plan.sessions_of(week);
        for day in sessions.chunk_by(|one, next| one.date == next.date) {
            let day = said_on(day, monday);
            let judged = (0..day.len()).filter_map(|place| jumps_at(&day, place, before));
            weeks.entry(week).or_default().extend(judged);
            before = last_end(day.iter(), before);
        }
    }
    weeks
}

/// A session that says its landings, and when it may begin and end.
struct Said<'a> {
    session: &'a PlanSession,
    contacts: Contacts,
    when: JumpTimes,
}

/// Those of one day, by start.
fn said_on(day: &[PlanSession], monday: Date) -> Vec<Said<'_>> {
    let said = day.iter().filter_map(|session| {
        let midnight = days_between(monday, session.date) * DAY;
        Some(Said {
            session,
            contacts: session.contacts?,
            when: JumpTimes::of(midnight, session.start, Some(session.minutes)),
        })
    });
    let mut said: Vec<Said<'_>> = said.collect();
    said.sort_by_key(|one| one.session.start);
    said
}

/// When the last jumps of these sessions, and those before, end.
fn last_end<'a>(
    sessions: impl Iterator<Item = &'a Said<'a>>,
    before: Option<Bounds<i64>>,
) -> Option<Bounds<i64>> {
    let jumps = sessions.filter(|one| one.contacts.has_jumps());
    jumps.fold(before, |last, one| Some(one.when.last_end(last)))
}

/// One session of a day, after the jumps of the days before. Of two on a day either may come first unless both starts are said: the
/// shortest time is then from the other, the longest from the jumps before both.
fn jumps_at(day: &[Said<'_>], place: usize, before: Option<Bounds<i64>>) -> Option<PlannedJumps> {
    let one = day.get(place)?;
    let either = |other: &Said<'_>| one.session.start.and(other.session.start).is_none();
    let (earlier, later) = (day.iter().take(place), day.iter().skip(place + 1));
    let surely = earlier.clone().filter(|other| !either(other));
    let perhaps = earlier.chain(later).filter(|other| either(other));
    let surely = last_end(surely, before);
    let perhaps = last_end(perhaps, surely);
    let jumps = one.contacts.has_jumps();
    let since = perhaps.filter(|_| jumps).map(|last| {
        let shortest = one.when.since(last);
        surely.map_or(shortest, |last| Bounds {
            high: one.when.since(last).high,
            ..shortest
        })
    });
    Some(PlannedJumps {
        date: one.session.date,
        contacts: one.contacts,
        since_jumps: since,
        may_be_first: jumps && surely.is_none(),
    })
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
            let silent = plan.sessions_of(week).len() - sessions.len();
            let judged = judge_jumps(rule, sessions, u32::try_from(silent).unwrap()).unwrap();
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
        assert_eq!(of(None), [nothing.clone(), nothing]);
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
        // What has no jumps is no end and no beginning.
        assert_eq!(of(nine, monday, landings(0, 0))[1].0, Outcome::NotRaised);
    }

    #[test]
    fn a_week_that_says_nothing_keeps_no_rule() {
        let tuesday = date(2026, 8, 11);
        let unsaid = Outcome::NotComputable(Reason::NothingSaid);
        for code in [RuleCode::LandingContacts, RuleCode::JumpGap] {
            let of = |second: Vec<PlanSession>| {
                let first = session(MONDAY, None, landings(10, 0));
                let all = [vec![first], second].concat();
                judged(&rule(code, 100), all)[1].clone()
            };
            let silent = session(tuesday, None, None);
            assert_eq!(of(vec![silent.clone()]), (unsaid, Vec::new()));
            assert_eq!(of(Vec::new()).0, Outcome::NotRaised, "no session at all");
            let none = session(tuesday, None, landings(0, 0));
            assert_eq!(of(vec![silent, none]).0, Outcome::NotRaised);
        }
    }

    #[test]
    fn of_two_on_a_day_either_may_come_first_unless_both_starts_are_said() {
        let gap = rule(RuleCode::JumpGap, 48);
        let (monday, tuesday, friday) = (MONDAY, date(2026, 8, 4), date(2026, 8, 7));
        let jumps = |date, hour: Option<i8>| {
            let start = hour.map(|hour| time(hour, 0, 0, 0));
            session(date, start, landings(1, 0))
        };
        let of = |sessions: Vec<PlanSession>| judged(&gap, sessions)[0].clone();
        let (eight, open) = (jumps(friday, Some(8)), jumps(friday, None));
        let both = (POSSIBLE, vec![friday, friday]);
        assert_eq!(of(vec![eight.clone(), open.clone()]), both);
        let before = jumps(monday, Some(18));
        assert_eq!(of(vec![before, eight.clone(), open.clone()]), both);
        let late = jumps(friday, Some(20));
        assert_eq!(
            of(vec![eight.clone(), late.clone()]),
            (CERTAIN, vec![friday])
        );
        // That at 20:00 comes after that at 08:00 wherever the third is.
        let three = vec![late, eight, open];
        assert_eq!(of(three), (CERTAIN, vec![friday, friday, friday]));
        // Too soon after Monday's whichever is first.
        let soon = vec![
            jumps(monday, Some(18)),
            jumps(tuesday, None),
            jumps(tuesday, Some(8)),
        ];
        assert_eq!(of(soon), (CERTAIN, vec![tuesday, tuesday]));
    }

    #[test]
    fn other_rules_are_not_about_jumps() {
        let others = RuleCode::ALL
            .iter()
            .filter(|code| judge_jumps(&rule(**code, 1), &[], 0).is_none());
        assert_eq!(others.count(), RuleCode::ALL.len() - 2);
    }

    /// Several sessions a day, at most one of them without a start, as they begin and shuffled.
    fn in_two_orders() -> impl Strategy<Value = (Vec<PlanSession>, Vec<PlanSession>)> {
        let place = (0_i64..4, prop::option::of(0_i8..24));
        let drawn = prop::collection::btree_map(place, 0_u32..3, 2..12);
        drawn.prop_flat_map(|drawn| {
            let of = |((day, hour), jumps): (&(i64, Option<i8>), &u32)| {
                // Over the end of the first week.
                let date = MONDAY.saturating_add(jiff::Span::new().days(day + 5));
                let start = hour.map(|hour| time(hour, 0, 0, 0));
                session(date, start, landings(*jumps, 0))
            };
            let sessions: Vec<PlanSession> = drawn.iter().map(of).collect();
            (Just(sessions.clone()), Just(sessions).prop_shuffle())
        })
    }

    proptest! {
        /// Whatever the order in which the sessions of a day are given, the same is judged of each.
        #[test]
        fn the_order_of_sessions_does_not_matter((sessions, shuffled) in in_two_orders()) {
            let of = |sessions| planned_jumps(&Plan::new(IsoWeek::of(MONDAY).unwrap(), 2, sessions).unwrap());
            prop_assert_eq!(of(sessions.clone()), of(shuffled.clone()));
            let gap = rule(RuleCode::JumpGap, 48);
            prop_assert_eq!(judged(&gap, sessions), judged(&gap, shuffled));
        }

        /// A start that is said can only settle what was possible.
        #[test]
        fn a_start_that_is_said_makes_it_no_less_sure(days in 0_i64..4, first in 0_i8..23, second in 0_i8..23) {
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
            let said = of(Some(first), Some(second));
            let not_raised = |outcome| !matches!(outcome, Outcome::Raised(_));
            for open in [of(None, None), of(Some(first), None), of(None, Some(second))] {
                prop_assert!(open == POSSIBLE || said == open || (not_raised(said) && not_raised(open)), "{said:?} {open:?}");
            }
        }
    }
}
