//! Invariants of the check of a plan, of margins and of moves, as properties.
#![allow(clippy::unwrap_used)]

mod common;

use std::collections::BTreeSet;

use common::{au, example_policy};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::contacts::Contacts;
use plimsoll_domain::margin::{FixedLoad, margin};
use plimsoll_domain::neuromuscular::{ExerciseCategory, WarmUp, WarmUpMinutes};
use plimsoll_domain::plan::{
    Plan, PlanCheck, PlanSession, WeekCheck, best_move, check_plan, weeks_before,
};
use plimsoll_domain::ratio::sums_at;
use plimsoll_domain::{
    DailySeries, Fraction, IsoWeek, Kind, Load, Minutes, Outcome, Policy, RatioLimit, Rpe,
    RuleCode, Setting,
};
use proptest::prelude::*;

const MONDAY: Date = date(2026, 8, 3);
const WEEKS: u8 = 6;

/// A session on a day of the plan, with half steps of session RPE and minutes.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    day: i64,
    half_steps: u8,
    minutes: i64,
    protected: bool,
}

fn drawn() -> impl Strategy<Value = Vec<Drawn>> {
    let days = 7 * i64::from(WEEKS);
    let one = (0..days, 2..=18_u8, 1..=12_i64, any::<bool>());
    let one = one.prop_map(|(day, half_steps, tens, protected)| Drawn {
        day,
        half_steps,
        minutes: 10 * tens,
        protected,
    });
    prop::collection::vec(one, 1..40)
}

fn history_loads() -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(prop_oneof![2 => Just(0), 5 => 100..1500_i64], 70)
}

fn plan(monday: Date, sessions: &[Drawn], times: i64) -> Plan {
    let session = |drawn: &Drawn| PlanSession {
        date: monday.saturating_add(drawn.day.days()),
        start: None,
        setting: Setting::Club,
        kind: Kind::Practice,
        intended: Rpe::from_half_steps(drawn.half_steps).unwrap(),
        minutes: Minutes::new(times * drawn.minutes).unwrap(),
        protected: drawn.protected,
        contacts: drawn.protected.then(|| Contacts {
            both_feet: u32::from(drawn.half_steps),
            ..Contacts::default()
        }),
        warm_up: warm_up(drawn.minutes),
    };
    let sessions = sessions.iter().map(session).collect();
    Plan::new(IsoWeek::of(monday).unwrap(), WEEKS, sessions).unwrap()
}

/// A warm-up with half of the sessions, and that there is none with some of them.
fn warm_up(minutes: i64) -> Option<WarmUp> {
    let categories = [ExerciseCategory::Jump, ExerciseCategory::Balance];
    match minutes {
        10..=40 => WarmUp::new(
            WarmUpMinutes::new(minutes).unwrap(),
            categories.into(),
            true,
        )
        .ok(),
        50 => WarmUp::new(WarmUpMinutes::new(0).unwrap(), BTreeSet::new(), false).ok(),
        _ => None,
    }
}

/// The last so many days of a history that ends before a Monday.
fn history(monday: Date, half_au: &[i64], days: usize) -> DailySeries {
    let kept = &half_au[half_au.len() - days..];
    let loads: Vec<Load> = kept
        .iter()
        .map(|load| Load::from_half_au(*load).unwrap())
        .collect();
    let first = monday.saturating_sub(i64::try_from(days).unwrap().days());
    DailySeries::of_loads(first, &loads).unwrap()
}

fn without_floor() -> Policy {
    let mut draft = example_policy().into_draft();
    draft.chronic_floor = Load::ZERO;
    draft.check().unwrap()
}

fn ratio_rule(week: &WeekCheck) -> Outcome {
    let mut judgements = week.judgements.iter();
    judgements
        .find(|one| one.rule == RuleCode::WeekEndRatio)
        .unwrap()
        .outcome
}

fn outcomes(check: &PlanCheck) -> Vec<Vec<Outcome>> {
    let of = |week: &WeekCheck| {
        let shifted = week.sensitivity.unwrap();
        let rules = week.judgements.iter().map(|one| one.outcome);
        rules
            .chain([shifted.worst, shifted.best, shifted.harder, shifted.easier])
            .collect()
    };
    check.weeks.iter().map(of).collect()
}

fn over_by(check: &PlanCheck) -> Vec<Option<Fraction>> {
    let of = |week: &WeekCheck| week.judgements[0].over_by_au.map(|over| over.point);
    check.weeks.iter().map(of).collect()
}

proptest! {
    /// Twice the minutes after twice the history: the same findings, twice the excess.
    #[test]
    fn scaling_scales_the_excess_and_no_finding(sessions in drawn(), past in history_loads()) {
        let twice: Vec<i64> = past.iter().map(|load| 2 * load).collect();
        let of = |times, past: &[i64]| {
            let history = history(MONDAY, past, 70);
            let few = &sessions[..sessions.len().min(12)];
            check_plan(&without_floor(), Some(&history), &plan(MONDAY, few, times)).unwrap()
        };
        let (once, scaled) = (of(1, &past), of(2, &twice));
        prop_assert_eq!(outcomes(&once), outcomes(&scaled));
        prop_assert_eq!(scaled.total, once.total + once.total);
        for (once, scaled) in over_by(&once).into_iter().zip(over_by(&scaled)) {
            let doubled = once.map(|over| Fraction::new(2 * over.numerator(), over.denominator()));
            prop_assert_eq!(doubled.map(Option::unwrap), scaled);
        }
        prop_assert!(once.days_over().eq(scaled.days_over()));
    }

    #[test]
    fn shifting_by_weeks_shifts_the_days(
        sessions in drawn(), past in history_loads(), weeks in 1..60_i64,
    ) {
        let of = |monday| {
            let history = history(monday, &past, 70);
            check_plan(&example_policy(), Some(&history), &plan(monday, &sessions, 1)).unwrap()
        };
        let later = of(MONDAY.saturating_add((7 * weeks).days()));
        let now = of(MONDAY);
        prop_assert_eq!(outcomes(&now), outcomes(&later));
        prop_assert_eq!(over_by(&now), over_by(&later));
        let prescribed = |check: &PlanCheck| -> Vec<_> {
            check.weeks.iter().map(|week| (week.contacts, week.contacts_not_said, week.warm_ups.clone())).collect()
        };
        prop_assert_eq!(prescribed(&now), prescribed(&later));
        let days = now.days_over().map(|over| over.date.saturating_add((7 * weeks).days()));
        prop_assert!(days.eq(later.days_over().map(|over| over.date)));
    }

    /// The ratio looks back 28 days, whatever is known before them.
    #[test]
    fn more_history_never_turns_a_known_answer_into_another(
        sessions in drawn(), past in history_loads(), days in 1..70_usize,
    ) {
        let of = |days| {
            let history = history(MONDAY, &past, days);
            check_plan(&example_policy(), Some(&history), &plan(MONDAY, &sessions, 1)).unwrap()
        };
        let (less, more) = (of(days), of(70));
        for (less, more) in less.weeks.iter().zip(&more.weeks) {
            if !matches!(ratio_rule(less), Outcome::NotComputable(_)) {
                prop_assert_eq!(ratio_rule(less), ratio_rule(more));
                prop_assert_eq!(less.sensitivity, more.sensitivity);
            }
            prop_assert!(less.days_over.iter().all(|day| more.days_over.contains(day)));
        }
    }

    /// Landings and warm-ups are the plan's: no history changes them, and every session is either said or not.
    #[test]
    fn what_is_prescribed_is_the_same_after_any_history(
        sessions in drawn(), past in history_loads(), days in 1..70_usize,
    ) {
        let plan = plan(MONDAY, &sessions, 1);
        let history = history(MONDAY, &past, days);
        let policy = example_policy();
        let rule = policy.rule(RuleCode::NeuromuscularDose).unwrap();
        let (with, without) = (check_plan(&policy, Some(&history), &plan).unwrap(), check_plan(&policy, None, &plan).unwrap());
        for (with, without) in with.weeks.iter().zip(&without.weeks) {
            prop_assert_eq!(with.contacts, without.contacts);
            prop_assert_eq!(&with.warm_ups, &without.warm_ups);
            prop_assert_eq!(with.judge_warm_up(rule), without.judge_warm_up(rule));
            let said = u32::try_from(with.warm_ups.attended.len()).unwrap();
            prop_assert_eq!(said + with.warm_ups.not_said, with.sessions);
        }
    }

    /// A warm-up more never leaves more lacking.
    #[test]
    fn a_further_warm_up_never_raises_the_rule(sessions in drawn(), at in any::<prop::sample::Index>()) {
        let policy = example_policy();
        let rule = policy.rule(RuleCode::NeuromuscularDose).unwrap();
        let before = plan(MONDAY, &sessions, 1);
        let mut further = before.sessions().to_vec();
        let one = at.get(&further).warm_up.is_none().then(|| at.index(further.len()));
        if let Some(one) = one {
            further[one].warm_up = warm_up(20);
        }
        let further = Plan::new(before.first(), WEEKS, further).unwrap();
        let of = |plan| check_plan(&policy, None, plan).unwrap();
        for (before, after) in of(&before).weeks.iter().zip(&of(&further).weeks) {
            let met = before.judge_warm_up(rule) == Some(Outcome::NotRaised);
            prop_assert!(!met || after.judge_warm_up(rule) == Some(Outcome::NotRaised));
        }
    }

    /// The worst case is at least as bad as the plan, the best at most.
    #[test]
    fn cases_enclose_the_plan(sessions in drawn(), past in history_loads()) {
        let history = history(MONDAY, &past, 70);
        let check = check_plan(&without_floor(), Some(&history), &plan(MONDAY, &sessions, 1));
        let raised = |outcome| matches!(outcome, Outcome::Raised(_));
        for week in check.unwrap().weeks {
            let cases = week.sensitivity.unwrap();
            prop_assert_eq!(cases.planned, ratio_rule(&week));
            for case in [cases.planned, cases.harder, cases.easier] {
                prop_assert!(raised(cases.worst) || !raised(case));
                prop_assert!(raised(case) || !raised(cases.best));
            }
        }
    }

    /// With the margin of a day added no remaining date is over, with half an AU more one is.
    #[test]
    fn a_margin_is_the_most_a_day_can_take(
        past in history_loads(), done in 0..7_usize, fixed in prop::collection::vec(0..600_i64, 7),
    ) {
        let limit = RatioLimit::of(&without_floor()).unwrap();
        let days = 56 + done;
        let last = MONDAY.saturating_add((i64::try_from(done).unwrap() - 1).days());
        let series = history(last.tomorrow().unwrap(), &past, days);
        let events: Vec<FixedLoad> = last
            .series(1.day())
            .skip(1)
            .zip(&fixed)
            .take(7 - done)
            .map(|(date, half_au)| FixedLoad { date, load: Load::from_half_au(*half_au).unwrap() })
            .collect();
        let found = margin(limit, &series, &events).unwrap();
        for (at, (date, left)) in found.rolling.iter().enumerate() {
            let half_au = 2 * left.point.unwrap().numerator() / left.point.unwrap().denominator();
            if half_au < 0 || left.point.unwrap() < Fraction::ZERO {
                continue;
            }
            let with = |extra: i64| {
                let mut loads: Vec<Load> = events.iter().map(|event| event.load).collect();
                loads[at] += Load::from_half_au(extra).unwrap();
                let known = series.days().iter().map(|day| day.load().point);
                DailySeries::of_loads(series.first(), &known.chain(loads).collect::<Vec<_>>())
            };
            let over = |extra: i64| {
                with(extra).is_ok_and(|week| {
                    let dates = date.series(1.day()).take_while(|date| *date <= week.last());
                    dates.map(|date| sums_at(&week, date).unwrap()).any(|(acute, prior)| {
                        limit.over_by(acute.point, prior.point) > Fraction::ZERO
                    })
                })
            };
            prop_assert!(!over(half_au), "{date}");
            prop_assert!(with(half_au + 1).is_err() || over(half_au + 1), "{date}");
        }
    }

    /// The excess that a move is chosen by is that of the check, and no other move leaves less without
    /// putting a week over.
    #[test]
    fn the_best_move_is_the_best_by_the_check(sessions in drawn(), past in history_loads()) {
        let policy = without_floor();
        let history = history(MONDAY, &past, 70);
        let as_planned = plan(MONDAY, &sessions, 1);
        let earlier = weeks_before(&history, as_planned.first()).unwrap();
        let found = best_move(RatioLimit::of(&policy).unwrap(), &earlier, &as_planned, 7);
        let excesses = |sessions: &[Drawn]| -> Vec<f64> {
            let check = check_plan(&policy, Some(&history), &plan(MONDAY, sessions, 1)).unwrap();
            over_by(&check).into_iter().map(|over| over.map_or(0.0, |over| over.to_f64().max(0.0))).collect()
        };
        let before = excesses(&sessions);
        let total = |weeks: &[f64]| weeks.iter().sum::<f64>();
        let mut least = total(&before);
        for at in (0..sessions.len()).filter(|at| !sessions[*at].protected) {
            for days in [-7, -1, 1, 6, 7] {
                let mut moved = sessions.clone();
                moved[at].day += days;
                if !(0..7 * i64::from(WEEKS)).contains(&moved[at].day) {
                    continue;
                }
                let after = excesses(&moved);
                if before.iter().zip(&after).all(|(before, after)| *before > 0.0 || *after == 0.0) {
                    least = least.min(total(&after));
                }
            }
        }
        match found {
            Some(found) => {
                prop_assert!((found.excess_before.to_f64() - total(&before)).abs() < 1e-6);
                let drawn = |one: &Drawn| plan(MONDAY, &[*one], 1).sessions()[0] == found.session;
                let mut moved = sessions.clone();
                moved[sessions.iter().position(drawn).unwrap()].day += i64::from(found.days);
                let after = excesses(&moved);
                prop_assert!((found.excess_after.to_f64() - total(&after)).abs() < 1e-6);
                prop_assert!(before.iter().zip(&after).all(|(was, is)| *was > 0.0 || *is == 0.0));
                prop_assert!(found.excess_after.to_f64() <= least + 1e-6);
            }
            None => prop_assert!(least >= total(&before) - 1e-6),
        }
    }
}

#[test]
fn the_drawn_history_is_long_enough_to_be_judged() {
    let past = history(MONDAY, &[1000; 70], 70);
    let loads = weeks_before(&past, IsoWeek::of(MONDAY).unwrap()).unwrap();
    assert_eq!(loads, [au(3500.0); 6]);
}
