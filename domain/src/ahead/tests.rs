//! The weeks are the first three of the half-year plan S10: an athlete with four weeks of 550 AU, practice of 90 minutes,
//! strength of 45, physical education of 60. Their loads, limits and excesses are computed there from the definition.

use jiff::civil::{Date, date};

use super::*;
use crate::exact::Fraction;
use crate::policy::PolicyDraft;

/// The Monday of the plan's first week.
const MONDAY: Date = date(2026, 8, 3);

fn policy() -> Policy {
    let draft = PolicyDraft::example(date(2026, 1, 1), "Policy owner");
    draft.check().unwrap()
}

fn session(minutes: i64, rpe: Option<f64>) -> PlannedSession {
    PlannedSession {
        minutes: Minutes::new(minutes).unwrap(),
        intended: rpe.map(|rpe| Rpe::from_f64(rpe).unwrap()),
        usual: None,
    }
}

fn planned(days: [&[(i64, f64)]; 7]) -> PlannedWeek {
    days.map(|sessions| PlannedDay {
        sessions: sessions
            .iter()
            .map(|(minutes, rpe)| session(*minutes, Some(*rpe)))
            .collect(),
        ..PlannedDay::default()
    })
}

const NOTHING: &[(i64, f64)] = &[];

fn first() -> PlannedWeek {
    let (practice, strength): (&[_], &[_]) = (&[(90, 5.0)], &[(45, 5.0)]);
    planned([
        practice, strength, practice, practice, strength, strength, NOTHING,
    ])
}

fn second() -> PlannedWeek {
    let (practice, strength): (&[_], &[_]) = (&[(90, 5.0)], &[(45, 6.0)]);
    let with_pe = &[(90, 5.0), (60, 4.0)];
    planned([
        practice, strength, with_pe, practice, strength, strength, NOTHING,
    ])
}

fn third() -> PlannedWeek {
    let (practice, strength): (&[_], &[_]) = (&[(90, 5.0)], &[(45, 7.0)]);
    let (with_pe, game): (&[_], &[_]) = (&[(90, 5.0), (60, 4.0)], &[(60, 7.0)]);
    planned([
        practice, strength, with_pe, practice, strength, strength, game,
    ])
}

/// Four weeks of Tuesday 200, Thursday 200, Saturday 150, then weeks done as planned.
fn history(done: &[PlannedWeek]) -> DailySeries {
    let mut days: Vec<DayTotal> = [0, 200, 0, 200, 0, 150, 0]
        .repeat(4)
        .into_iter()
        .map(|au| DayTotal::logged(Load::from_au(au)).unwrap())
        .collect();
    days.extend(done.iter().flatten().map(|day| day.total(None).unwrap()));
    let since = date(2026, 7, 6);
    DailySeries::new(since, since, days).unwrap()
}

fn look(done: &[PlannedWeek], plan: &PlannedWeek) -> Option<Ahead<&'static str>> {
    look_by(&policy(), done, plan)
}

fn look_by(
    policy: &Policy,
    done: &[PlannedWeek],
    plan: &PlannedWeek,
) -> Option<Ahead<&'static str>> {
    let weeks = i32::try_from(done.len()).unwrap();
    let week = IsoWeek::of(MONDAY).unwrap().plus(weeks).unwrap();
    let series = history(done);
    ahead(policy, ("P-09", "P-09".to_owned()), &series, week, plan)
}

#[track_caller]
fn assert_over(found: &Ahead<&str>, load: u16, limit: i64, over_by: i64) {
    let judged = &found.judgement;
    assert_eq!(judged.load, Bounds::exact(Load::from_au(load)));
    assert_eq!(judged.limit_au, Some(Bounds::exact(Fraction::whole(limit))));
    assert_eq!(
        judged.over_by_au,
        Some(Bounds::exact(Fraction::whole(over_by)))
    );
    assert_eq!(judged.certainty(), Some(Certainty::Certain));
}

#[test]
fn s10_the_first_week_is_over_by_1035() {
    let found = look(&[], &first()).unwrap();
    assert_over(&found, 2025, 990, 1035);
    assert_eq!(
        (found.sessions, found.usual_taken, found.anything_taken),
        (6, 0, 0)
    );
    assert_eq!(
        found.sentence,
        "If the 6 sessions planned for 2026-W32 happen, the week comes to 2025 AU, 1035 AU above \
         the club limit of 990 AU."
    );
}

#[test]
fn s10_the_second_week_is_over_by_525_after_the_first_as_planned() {
    assert_over(&look(&[first()], &second()).unwrap(), 2400, 1875, 525);
}

/// 30 AU below the ratio's limit of 2985, and 315 above 1.1 x 2400, the highest week before.
#[test]
fn s10_the_third_week_is_over_the_own_highest_only() {
    let done = [first(), second()];
    let found = look(&done, &third()).unwrap();
    assert_eq!(found.judgement.rule, RuleCode::OwnHighestWeek);
    assert_over(&found, 2955, 2640, 315);
    let mut draft = policy().into_draft();
    draft
        .rules
        .retain(|rule| rule.code == RuleCode::WeekEndRatio);
    assert!(look_by(&draft.check().unwrap(), &done, &third()).is_none());
}

#[test]
fn monotony_is_no_matter_of_a_plan() {
    let mut draft = policy().into_draft();
    draft
        .rules
        .retain(|rule| rule.code == RuleCode::WeekMonotony);
    let every_day: PlannedWeek = planned([&[(90, 5.0)]; 7]);
    assert!(look_by(&draft.check().unwrap(), &[], &every_day).is_none());
}

/// Without a planned effort a session of 90 minutes is anything from 0 to 900 AU.
#[test]
fn an_effort_that_is_not_planned_leaves_a_range() {
    let mut plan: PlannedWeek = Default::default();
    plan[0].sessions = vec![session(90, Some(5.0)), session(90, None)];
    let found = look(&[], &plan).unwrap();
    assert_eq!(found.judgement.certainty(), Some(Certainty::Possible));
    assert_eq!((found.sessions, found.anything_taken), (2, 1));
    let over_by = found.judgement.over_by_au.unwrap();
    assert_eq!(
        (over_by.low, over_by.high),
        (Fraction::whole(-540), Fraction::whole(360))
    );
    assert_eq!(
        found.sentence,
        "If the 2 sessions planned for 2026-W32 happen, the week comes to 450 to 1350 AU, up to \
         360 AU above the club limit of 990 AU. For 1 of them no effort is planned, and the \
         ratings are too few to say what is usual: anything up to session RPE 10 was taken."
    );
}

/// Ratings of 6 throughout make the usual range exactly 6: 540 AU in 90 minutes.
#[test]
fn her_usual_range_stands_in_where_there_is_one() {
    let six = [Rpe::from_f64(6.0).unwrap(); 8];
    let mut plan: PlannedWeek = Default::default();
    plan[0].sessions = vec![session(90, Some(5.0)), session(90, None)];
    plan[0].sessions[1].usual = UsualRange::of(&six);
    assert!(look(&[], &plan).is_some_and(|found| found.judgement.rule == RuleCode::OwnHighestWeek));
    plan[1].sessions = vec![session(10, None)];
    plan[1].sessions[0].usual = UsualRange::of(&six);
    let found = look(&[], &plan).unwrap();
    assert_over(&found, 1050, 990, 60);
    assert_eq!((found.usual_taken, found.anything_taken), (2, 0));
    assert!(
        found
            .sentence
            .ends_with("For 2 of them no effort is planned: the athlete's usual range was taken."),
        "{}",
        found.sentence
    );
}

#[test]
fn nothing_planned_and_a_gap_between_are_nothing_to_say() {
    assert!(look(&[], &PlannedWeek::default()).is_none());
    let week = IsoWeek::of(date(2026, 8, 10)).unwrap();
    let later = ahead(
        &policy(),
        ((), String::new()),
        &history(&[]),
        week,
        &first(),
    );
    assert!(later.is_none(), "the week between is not known");
}

/// The first week of the plan with its Monday to Wednesday done as planned, and only the rest still planned: what it comes to
/// is the same.
#[test]
fn a_week_that_runs_adds_what_is_planned_to_what_is_done() {
    let whole = first();
    let of = |days: std::ops::Range<usize>| {
        let mut part = whole.clone();
        for (at, day) in part.iter_mut().enumerate() {
            if !days.contains(&at) {
                *day = PlannedDay::default();
            }
        }
        part
    };
    let named = || ("P-07", "P-07".to_owned());
    let before = history(&[]);
    let found = ahead(
        &policy(),
        named(),
        &before,
        IsoWeek::of(MONDAY).unwrap(),
        &whole,
    );
    let running = history(&[of(0..3)]);
    let rest = ahead(
        &policy(),
        named(),
        &running,
        IsoWeek::of(MONDAY).unwrap(),
        &of(3..7),
    );
    let (found, rest) = (found.unwrap(), rest.unwrap());
    assert_eq!(rest.judgement, found.judgement);
    assert_eq!((found.sessions, rest.sessions), (6, 3));
    // What is done today and what is planned for later today are one day.
    let evening = ahead(
        &policy(),
        named(),
        &running,
        IsoWeek::of(MONDAY).unwrap(),
        &of(2..7),
    );
    let twice = evening.unwrap().judgement.load.low.half_au() - found.judgement.load.low.half_au();
    assert_eq!(twice, 2 * 450, "Wednesday's 90 minutes at 5, once more");
    // A week that is over, and one that has not been reached.
    for monday in [date(2026, 7, 27), date(2026, 8, 17)] {
        let week = IsoWeek::of(monday).unwrap();
        assert!(ahead(&policy(), named(), &running, week, &whole).is_none());
    }
}
