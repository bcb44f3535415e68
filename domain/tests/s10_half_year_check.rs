//! S10, the check of a half-year plan before it starts, with the figures of its table.
#![allow(clippy::unwrap_used)]

mod common;

use common::half_year::{history, plan};
use common::{au, example_policy, four, root_four, two};
use jiff::civil::date;
use plimsoll_domain::contacts::Contacts;
use plimsoll_domain::neuromuscular::{ExerciseCategory, WarmUp, WarmUpMinutes};
use plimsoll_domain::plan::{Plan, PlanCheck, Sensitivity, WeekCheck, check_plan};
use plimsoll_domain::{Certainty, Fraction, Judgement, Outcome, Reason, RuleCode};

/// Week, ISO week, load, prior 21 days, limit (0.6 x those), coupled, uncoupled, over by, change from the
/// week before in per cent, monotony, organised hours, free days, games.
const TABLE: [&str; 26] = [
    "1 2026-W32 2025 1650 990 2.2041 3.6818 1035 268.18 1.7008 6.75 1 0",
    "2 2026-W33 2400 3125 1875 1.7376 2.304 525 18.52 1.5959 7.75 1 0",
    "3 2026-W34 2955 4975 2985 1.4905 1.7819 - 23.12 3.1502 8.75 0 1",
    "4 2026-W35 2550 7380 4428 1.0272 1.0366 - -13.71 1.8779 8.75 0 1",
    "5 2026-W36 2790 7905 4743 1.0435 1.0588 - 9.41 1.5224 8 1 1",
    "6 2026-W37 2880 8295 4977 1.0309 1.0416 - 3.23 1.6287 8 1 1",
    "7 2026-W38 2970 8220 4932 1.0617 1.0839 - 3.12 1.7314 8 1 1",
    "8 2026-W39 2700 8640 5184 0.9524 0.9375 - -9.09 1.4157 8 1 1",
    "9 2026-W40 2790 8550 5130 0.9841 0.9789 - 3.33 1.5224 8 1 1",
    "10 2026-W41 2880 8460 5076 1.0159 1.0213 - 3.23 1.6287 8 1 1",
    "11 2026-W42 945 8370 5022 0.4058 0.3387 - -67.19 0.8018 2.25 4 0",
    "12 2026-W43 4380 6615 3969 1.5935 1.9864 411 363.49 2.2966 11.5 0 1",
    "13 2026-W44 2790 8205 4923 1.015 1.0201 - -36.3 1.5224 8 1 1",
    "14 2026-W45 2880 8115 4869 1.0477 1.0647 - 3.23 1.6287 8 1 1",
    "15 2026-W46 2970 10050 6030 0.9124 0.8866 - 3.12 1.7314 8 1 1",
    "16 2026-W47 2700 8640 5184 0.9524 0.9375 - -9.09 1.4157 8 1 1",
    "17 2026-W48 2790 8550 5130 0.9841 0.9789 - 3.33 1.5224 8 1 1",
    "18 2026-W49 2880 8460 5076 1.0159 1.0213 - 3.23 1.6287 8 1 1",
    "19 2026-W50 870 8370 5022 0.3766 0.3118 - -69.79 0.709 3.25 4 0",
    "20 2026-W51 870 6540 3924 0.4696 0.3991 - 0 0.709 3.25 4 0",
    "21 2026-W52 240 4620 2772 0.1975 0.1558 - -72.41 0.5855 1 5 0",
    "22 2026-W53 1920 1980 1188 1.9692 2.9091 732 700 0.8018 4 4 6",
    "23 2027-W01 2970 3030 1818 1.98 2.9406 1152 54.69 1.7314 8 1 1",
    "24 2027-W02 2700 5130 3078 1.3793 1.5789 - -9.09 1.4157 8 1 1",
    "25 2027-W03 2790 7590 4554 1.0751 1.1028 - 3.33 1.5224 8 1 1",
    "26 2027-W04 2880 8460 5076 1.0159 1.0213 - 3.23 1.6287 8 1 1",
];

fn check() -> PlanCheck {
    check_plan(&example_policy(), Some(&history()), &plan()).unwrap()
}

fn judged(week: &WeekCheck, rule: RuleCode) -> &Judgement {
    let mut judgements = week.judgements.iter();
    judgements.find(|judgement| judgement.rule == rule).unwrap()
}

fn row(number: usize, week: &WeekCheck) -> String {
    let figures = &week.figures;
    let ratio = judged(week, RuleCode::WeekEndRatio);
    let over = ratio.over_by_au.unwrap().point;
    let hours = Fraction::new(week.organised_minutes.into(), 60).unwrap();
    let columns = [
        number.to_string(),
        figures.week.to_string(),
        figures.load.point.to_string(),
        figures.prior_21d.point.unwrap().to_string(),
        four(ratio.limit_au.unwrap().point),
        four(figures.ratio_coupled.point.unwrap()),
        four(figures.ratio_uncoupled.point.unwrap()),
        if over > Fraction::ZERO {
            four(over)
        } else {
            "-".into()
        },
        two(figures.change.pct.point.unwrap()),
        root_four(figures.monotony.sample.point.unwrap()),
        two(hours),
        week.free_days.to_string(),
        week.games.to_string(),
    ];
    columns.join(" ")
}

fn numbers(check: &PlanCheck, holds: impl Fn(&WeekCheck) -> bool) -> Vec<usize> {
    let weeks = (1..).zip(&check.weeks);
    weeks
        .filter(|(_, week)| holds(week))
        .map(|(number, _)| number)
        .collect()
}

#[test]
fn s10_every_week_as_in_the_table() {
    let check = check();
    let rows: Vec<String> = (1..)
        .zip(&check.weeks)
        .map(|(number, week)| row(number, week))
        .collect();
    assert_eq!(rows, TABLE);
    assert_eq!(check.total, au(64_515.0));
}

#[test]
fn s10_the_rules_that_are_raised() {
    let check = check();
    let raised = |rule| {
        numbers(&check, |week| {
            judged(week, rule).certainty() == Some(Certainty::Certain)
        })
    };
    assert_eq!(raised(RuleCode::WeekEndRatio), [1, 2, 12, 22, 23]);
    assert_eq!(raised(RuleCode::OwnHighestWeek), [1, 2, 3, 12]);
    assert_eq!(raised(RuleCode::WeekMonotony), [3, 12]);
    assert_eq!(numbers(&check, |week| week.free_days < 1), [3, 4, 12]);
    // At 16 years of age the limit is 16 hours; the most is 11.5.
    assert!(numbers(&check, |week| week.organised_minutes > 16 * 60).is_empty());
    let third = judged(&check.weeks[2], RuleCode::WeekEndRatio)
        .over_by_au
        .unwrap();
    assert_eq!(four(third.point), "-30");
}

/// At 16 years of age the limit is 16 hours, and the club wants a day free of organised sport. Without a
/// birth date there is no limit on hours to compare with.
#[test]
fn s10_rules_about_organised_time() {
    let (check, policy) = (check(), example_policy());
    let raised = |code, born| {
        let rule = policy.rule(code).unwrap();
        numbers(&check, |week| {
            let judged = week.judge_organised(rule, born, 0).unwrap();
            judged.outcome() == Outcome::Raised(Certainty::Certain)
        })
    };
    let born = Some(date(2010, 3, 15));
    assert_eq!(raised(RuleCode::FreeDays, born), [3, 4, 12]);
    assert_eq!(raised(RuleCode::OrganisedHours, born), [0; 0]);
    assert_eq!(
        raised(RuleCode::OrganisedHours, Some(date(2015, 8, 3))),
        [12]
    );
    let rule = policy.rule(RuleCode::OrganisedHours).unwrap();
    let judged = check.weeks[11].judge_organised(rule, None, 0).unwrap();
    assert_eq!(judged.against, Err(Reason::NoBirthDate));
    let other = policy.rule(RuleCode::WeekMonotony).unwrap();
    assert_eq!(check.weeks[0].judge_organised(other, born, 0), None);
}

#[test]
fn s10_35_days_are_over_in_the_rolling_view() {
    let check = check();
    let days: Vec<_> = check.days_over().collect();
    assert_eq!((days.len(), days[0].date), (35, date(2026, 8, 3)));
    assert!(days.iter().all(|day| day.certainty == Certainty::Certain));
    let weeks = (1..)
        .zip(&check.weeks)
        .map(|(number, week)| (number, week.days_over.len()));
    let with_days: Vec<(usize, usize)> = weeks.filter(|(_, days)| *days > 0).collect();
    assert_eq!(
        with_days,
        [
            (1, 7),
            (2, 7),
            (3, 2),
            (12, 1),
            (13, 4),
            (22, 5),
            (23, 5),
            (24, 4)
        ]
    );
}

#[test]
fn s10_a_point_of_effort_more_or_less() {
    let check = check();
    let of = |holds: fn(&Sensitivity) -> bool| {
        numbers(&check, |week| holds(week.sensitivity.as_ref().unwrap()))
    };
    let certain = Outcome::Raised(Certainty::Certain);
    assert_eq!(
        of(|of| of.planned == Outcome::Raised(Certainty::Certain)),
        [1, 2, 12, 22, 23]
    );
    assert_eq!(
        of(|of| of.harder == Outcome::Raised(Certainty::Certain)),
        [1, 2, 12, 22, 23]
    );
    assert_eq!(
        of(|of| of.easier == Outcome::Raised(Certainty::Certain)),
        [1, 2, 12, 22, 23]
    );
    assert_eq!(of(Sensitivity::is_robust), [1, 22, 23]);
    assert_eq!(
        of(|of| matches!(of.worst, Outcome::Raised(_))),
        [1, 2, 3, 12, 22, 23, 24]
    );
    assert_eq!(of(Sensitivity::is_fragile), [3, 24]);
    assert_eq!(check.weeks[0].sensitivity.unwrap().best, certain);
}

/// Without a history the first week with 28 days is the fourth, and it is judged by what is planned.
#[test]
fn a_plan_without_history_is_judged_from_its_28th_day() {
    let check = check_plan(&example_policy(), None, &plan()).unwrap();
    for week in &check.weeks[..3] {
        let none = Outcome::NotComputable(Reason::FewerThan28Days);
        assert_eq!(judged(week, RuleCode::WeekEndRatio).outcome, none);
        assert_eq!(week.sensitivity.unwrap().worst, none);
        assert!(week.days_over.is_empty());
    }
    for week in &check.weeks[..4] {
        let none = Outcome::NotComputable(Reason::FewerThan4Weeks);
        assert_eq!(judged(week, RuleCode::OwnHighestWeek).outcome, none);
    }
    // 2550 after 2025 + 2400 + 2955 of the plan.
    assert_eq!(
        four(check.weeks[3].figures.ratio_coupled.point.unwrap()),
        "1.0272"
    );
}

#[test]
fn a_policy_without_the_ratio_leaves_it_out() {
    let mut draft = example_policy().into_draft();
    draft.rules[0].enabled = false;
    let check = check_plan(&draft.check().unwrap(), Some(&history()), &plan()).unwrap();
    assert!(check.weeks.iter().all(|week| week.sensitivity.is_none()));
    assert_eq!(check.days_over().count(), 0);
}

/// Two practices of the first week begin with jumps and a warm-up; the second week says nothing of either.
#[test]
fn planned_contacts_and_warm_ups_are_summed_by_week() {
    let hops = Contacts {
        both_feet: 20,
        ..Contacts::default()
    };
    let warm_up = WarmUp::new(
        WarmUpMinutes::new(15).unwrap(),
        [ExerciseCategory::Jump].into(),
        true,
    );
    let mut sessions = plan().sessions().to_vec();
    for session in &mut sessions[..2] {
        session.contacts = Some(hops);
        session.warm_up = warm_up.clone().ok();
    }
    let plan = Plan::new(plan().first(), 26, sessions).unwrap();
    let check = check_plan(&example_policy(), Some(&history()), &plan).unwrap();
    let of = |week: &WeekCheck| {
        let dose = week.warm_ups.dose();
        let said = (week.contacts.events(), dose.sessions, dose.minutes);
        let silent = (week.contacts_not_said, week.warm_ups.not_said);
        assert_eq!(
            silent,
            (week.sessions - dose.sessions, week.sessions - dose.sessions)
        );
        said
    };
    assert_eq!(
        (of(&check.weeks[0]), of(&check.weeks[1])),
        ((40, 2, 30), (0, 0, 0))
    );
}

/// 30 minutes in two sessions with three categories and feedback meet the example policy; what is not said leaves it open.
#[test]
fn a_planned_warm_up_is_judged_as_far_as_it_is_said() {
    let warm_up = |minutes, categories: &[ExerciseCategory]| {
        let minutes = WarmUpMinutes::new(minutes).unwrap();
        WarmUp::new(
            minutes,
            categories.iter().copied().collect(),
            minutes.get() > 0,
        )
        .ok()
    };
    let all = [
        ExerciseCategory::Jump,
        ExerciseCategory::Balance,
        ExerciseCategory::Strength,
    ];
    let judged = |first: Option<WarmUp>, others: Option<WarmUp>| {
        let mut sessions = plan().sessions().to_vec();
        sessions[0].warm_up = first.clone();
        sessions[1].warm_up = first;
        for session in &mut sessions[2..] {
            session.warm_up = others.clone();
        }
        let plan = Plan::new(plan().first(), 26, sessions).unwrap();
        let policy = example_policy();
        let check = check_plan(&policy, Some(&history()), &plan).unwrap();
        let rule = policy.rule(RuleCode::NeuromuscularDose).unwrap();
        check.weeks[0].judge_warm_up(rule).unwrap()
    };
    assert_eq!(judged(warm_up(15, &all), None), Outcome::NotRaised);
    let short = judged(warm_up(14, &all), None);
    assert_eq!(short, Outcome::Raised(Certainty::Possible));
    let short = judged(warm_up(14, &all), warm_up(0, &[]));
    assert_eq!(short, Outcome::Raised(Certainty::Certain));
    let ratio = example_policy();
    let check = check_plan(&ratio, Some(&history()), &plan()).unwrap();
    let other = ratio.rule(RuleCode::WeekMonotony).unwrap();
    assert_eq!(check.weeks[0].judge_warm_up(other), None);
}
