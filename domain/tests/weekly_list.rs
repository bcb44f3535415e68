//! The weekly list beyond scenario S18: who is on it, who is not, and what it says.
#![allow(clippy::unwrap_used)]

mod common;

use common::{athlete_week, au, example_policy, known, member, open, weeks};
use jiff::civil::date;
use plimsoll_domain::{
    Absence, AthleteWeek, Bounds, Certainty, DailySeries, DayFacts, DayTotal, Entry, Finding,
    Fraction, Policy, PolicyDraft, Reason, RuleCode, Setting, SettingLoad, WeeklyList, weekly_list,
};

fn policy_with(change: impl FnOnce(&mut PolicyDraft)) -> Policy {
    let mut draft = example_policy().into_draft();
    change(&mut draft);
    draft.check().unwrap()
}

fn athlete(policy: &Policy, name: &str, series: &DailySeries) -> AthleteWeek<u8> {
    athlete_week(policy, 0, name, series)
}

fn listed_by(policy: &Policy, days: Vec<DayTotal>) -> Option<Entry<u8>> {
    let series = member(date(2026, 9, 7), days);
    weekly_list(Some(policy), vec![athlete(policy, "A", &series)])
        .entries
        .pop()
}

fn listed(days: Vec<DayTotal>) -> Option<Entry<u8>> {
    listed_by(&example_policy(), days)
}

fn absent(absence: Absence) -> DayTotal {
    DayTotal::new(
        DayFacts {
            absence,
            ..DayFacts::default()
        },
        Bounds::default(),
        0,
    )
    .unwrap()
}

#[test]
fn a_week_within_every_limit_is_not_listed() {
    assert!(listed(weeks(&[1000.0, 1100.0, 1050.0, 1150.0])).is_none());
}

#[test]
fn ties_go_by_name_then_key() {
    let policy = example_policy();
    let series = member(date(2026, 9, 7), weeks(&[1600.0, 1700.0, 1700.0, 3300.0]));
    let of = |name: &str, key| AthleteWeek {
        key,
        ..athlete(&policy, name, &series)
    };
    let list = weekly_list(Some(&policy), vec![of("B", 1), of("A", 3), of("A", 2)]);
    let order: Vec<_> = list
        .entries
        .iter()
        .map(|entry| (&*entry.display_name, entry.key))
        .collect();
    assert_eq!(order, [("A", 2), ("A", 3), ("B", 1)]);
}

#[test]
fn one_entry_an_athlete_the_policys_first_rule_leading() {
    // Five weeks: over the ratio limit by 2000 - 0.6 x 3000 = 200, over own highest by 900.
    let entry = listed(weeks(&[1000.0, 1000.0, 1000.0, 1000.0, 2000.0])).unwrap();
    assert_eq!(entry.finding, Finding::OverLimit);
    let also: Vec<_> = entry.also.iter().map(|judgement| judgement.rule).collect();
    assert_eq!(also, [RuleCode::OwnHighestWeek]);
}

#[test]
fn certain_comes_before_further_over_but_only_possible() {
    let mut days = weeks(&[1000.0, 1000.0, 1000.0, 1000.0, 1200.0]);
    days[30] = open(0.0, 120.0);
    let entry = listed(days).unwrap();
    assert_eq!(
        (entry.finding, entry.certainty),
        (Finding::OwnHighest, Some(Certainty::Certain))
    );
    let ratio = entry.also[0];
    assert_eq!(
        (ratio.rule, ratio.certainty()),
        (RuleCode::WeekEndRatio, Some(Certainty::Possible))
    );
}

#[test]
fn monotony_has_no_load_over_and_comes_last() {
    let mut days = weeks(&[1500.0, 1500.0, 1500.0]);
    days.extend([known(300.0); 7]);
    let entry = listed(days).unwrap();
    assert_eq!(
        (entry.finding, entry.certainty),
        (Finding::Monotony, Some(Certainty::Certain))
    );
    assert_eq!(
        entry.sentence,
        "The seven days of the week had the same load, which counts as above any limit on monotony."
    );
    let mut days = weeks(&[1500.0, 1500.0, 1500.0]);
    days.extend([300.0, 300.0, 300.0, 300.0, 300.0, 300.0, 200.0].map(known));
    assert_eq!(
        listed(days).unwrap().sentence,
        "The days of the week were alike: monotony 7.5593 against the club limit of 2."
    );
    let mut days = weeks(&[1500.0, 1500.0, 1500.0]);
    days.extend([300.0, 300.0, 300.0, 300.0, 0.0, 0.0].map(known));
    days.push(open(0.0, 30.0));
    assert!(listed(days).is_none());
    let mut days = weeks(&[1500.0, 1500.0, 1500.0]);
    days.extend([300.0, 300.0, 300.0, 300.0, 250.0, 0.0].map(known));
    days.push(open(0.0, 30.0));
    assert_eq!(
        listed(days).unwrap().sentence,
        "The days of the week may have been alike: monotony up to 2.237 against the club limit of 2."
    );
}

#[test]
fn nothing_logged_says_so_even_where_no_limit_is_in_reach() {
    let mut days = weeks(&[1500.0, 1500.0, 1500.0, 0.0]);
    days[21] = open(0.0, 60.0);
    let entry = listed(days).unwrap();
    assert_eq!(
        (entry.finding, entry.certainty),
        (Finding::NothingLogged, None)
    );
    assert_eq!(
        entry.sentence,
        "Nothing was logged and 1 session was expected: the week is not known, it is not a week of \
         rest."
    );
}

#[test]
fn a_load_that_cannot_be_judged_is_listed_with_its_reason() {
    let entry = listed(weeks(&[0.0, 0.0, 90.0, 420.0])).unwrap();
    assert_eq!(
        (entry.finding, entry.reason),
        (Finding::NotComputable, Some(Reason::BelowChronicFloor))
    );
    assert_eq!(
        entry.sentence,
        "The week came to 420 AU; no ratio is given because the three weeks before are below the \
         club's floor."
    );
    let mut days = vec![absent(Absence::Long); 21];
    days.extend(weeks(&[900.0]));
    let entry = listed(days).unwrap();
    assert_eq!(entry.reason, Some(Reason::AbsenceInWindow));
    assert_eq!(
        entry.sentence,
        "The week came to 900 AU; no ratio is given while the last 28 days contain an absence of \
         14 days or more."
    );
}

#[test]
fn without_any_load_there_is_nothing_to_decide() {
    assert!(listed(vec![absent(Absence::Long); 35]).is_none());
    assert!(listed(weeks(&[0.0])).is_none());
}

#[test]
fn too_few_earlier_weeks_are_no_finding_while_another_rule_can_judge() {
    assert!(listed(weeks(&[1000.0, 1000.0, 1000.0, 1000.0])).is_none());
    let only_own_highest = policy_with(|draft| {
        draft.rules[0].enabled = false;
        draft.rules[2].enabled = false;
    });
    let entry = listed_by(&only_own_highest, weeks(&[1000.0, 1000.0])).unwrap();
    assert_eq!(entry.reason, Some(Reason::FewerThan4Weeks));
    assert_eq!(
        entry.sentence,
        "The week came to 1000 AU; there are too few earlier weeks to compare with."
    );
}

#[test]
fn the_cause_is_left_out_where_nothing_rose() {
    let policy = example_policy();
    let series = member(date(2026, 9, 7), weeks(&[1600.0, 1700.0, 1700.0, 3300.0]));
    let flat = SettingLoad {
        setting: Setting::Club,
        week: au(500.0),
        prior_21d: au(1500.0),
    };
    let none = SettingLoad {
        setting: Setting::Pe,
        week: au(0.0),
        prior_21d: au(600.0),
    };
    let settings = vec![none, flat];
    let list = weekly_list(
        Some(&policy),
        vec![AthleteWeek {
            settings,
            ..athlete(&policy, "A", &series)
        }],
    );
    assert_eq!(
        list.entries[0].sentence,
        "The week came to 3300 AU, 300 AU above the club limit of 3000 AU."
    );
    assert_eq!(list.entries[0].made_up_of, [flat]);
}

#[test]
fn doubt_about_earlier_weeks_is_named() {
    let mut days = weeks(&[1600.0, 1700.0, 1700.0, 3050.0]);
    days[9] = open(0.0, 60.0);
    let entry = listed(days).unwrap();
    assert_eq!(entry.certainty, Some(Certainty::Possible));
    assert_eq!(
        entry.sentence,
        "With earlier sessions unlogged or in doubt, the week came to 3050 AU, up to 50 AU above \
         the club limit of 3000 to 3360 AU."
    );
    // Known earlier sessions would settle it, and no load of the week does.
    let places: Vec<_> = entry
        .missing
        .iter()
        .map(|one| (one.place, one.break_even))
        .collect();
    assert_eq!(places, [(0, None)]);
}

#[test]
fn within_the_ceiling_of_a_return_there_is_nothing_to_decide() {
    let returned = |done: &[f64]| {
        let mut days = weeks(&[2100.0, 2300.0, 2200.0, 2400.0]);
        days.extend(vec![absent(Absence::Long); 35]);
        days.extend(weeks(done));
        listed(days)
    };
    assert!(returned(&[900.0]).is_none());
    assert!(
        returned(&[1125.0, 1500.0]).is_none(),
        "at the ceiling is not above it"
    );
    let entry = returned(&[900.0, 1500.0, 2200.0]).unwrap();
    assert_eq!(
        (entry.finding, entry.certainty),
        (Finding::ReturnCeiling, Some(Certainty::Certain))
    );
    assert_eq!(
        entry.judgement.unwrap().over_by_au.unwrap().point,
        Fraction::whole(400)
    );
}

fn squad(logged: usize, silent: usize) -> WeeklyList<u8> {
    let policy = example_policy();
    let of = |key: u8, days| {
        let series = member(date(2026, 9, 7), days);
        athlete_week(&policy, key, &format!("A{key}"), &series)
    };
    let mut athletes = Vec::new();
    for _ in 0..logged {
        athletes.push(of(0, weeks(&[1000.0, 1000.0, 1000.0, 1000.0])));
    }
    for key in 1..=u8::try_from(silent).unwrap() {
        let mut days = weeks(&[1000.0, 1000.0, 1000.0, 0.0]);
        days[22] = open(0.0, 60.0);
        days[24] = open(0.0, 60.0);
        athletes.push(of(key, days));
    }
    weekly_list(Some(&policy), athletes)
}

#[test]
fn a_squad_that_logged_little_gets_one_line() {
    // Each athlete who logged has one expected session, each silent one has two.
    let list = squad(4, 2);
    assert!(list.mostly_unlogged.is_none(), "half is not more than half");
    assert_eq!(
        (list.entries.len(), list.nothing_logged, list.not_listed),
        (2, 2, 4)
    );

    let few = squad(3, 2);
    let line = few.mostly_unlogged.unwrap();
    assert_eq!((line.expected, line.unlogged), (7, 4));
    assert!(line.athletes.is_empty(), "two names are a few");
    assert_eq!((few.entries.len(), few.not_listed), (2, 3));
    assert_eq!(
        line.sentence,
        "Of 7 sessions expected in the week 4 are not logged, and 2 athletes logged nothing: ask \
         the squad as a whole."
    );

    let many = squad(3, 4);
    assert_eq!(many.mostly_unlogged.unwrap().athletes, [1, 2, 3, 4]);
    assert_eq!(
        (many.entries.len(), many.nothing_logged, many.not_listed),
        (0, 4, 3)
    );
}
