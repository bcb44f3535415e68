//! The acceptance scenarios of an invented handball club that are pure computation.
#![allow(clippy::unwrap_used)]

mod common;

use common::{au, example_policy, four, judged, last_day, last_day_with, loads, member};
use common::{root_four, root_two, series, two, weeks};
use jiff::civil::date;
use plimsoll_domain::{
    Absence, Bounds, Certainty, DailySeries, DayFacts, DayFigures, DayState, DayTotal, Divisor,
    Figure, FigureSettings, Interval, IsoWeek, Load, LoadChange, Minutes, Moments, NothingSaid,
    Outcome, Places, PolicyDraft, RatioKind, Reason, Rpe, RuleCode, Seed, Setting, day_figures,
    judge, overlaps, share, split_at_midnight,
};

const S01: [f64; 7] = [780.0, 225.0, 450.0, 630.0, 0.0, 680.0, 45.0];
const S02: [f64; 21] = [
    300.0, 0.0, 400.0, 225.0, 0.0, 350.0, 0.0, // 17-23 August
    480.0, 225.0, 450.0, 0.0, 500.0, 0.0, 0.0, // 24-30 August
    540.0, 225.0, 450.0, 540.0, 0.0, 600.0, 0.0, // 31 August - 6 September
];

fn s02() -> DailySeries {
    series(date(2026, 8, 17), &[&S02[..], &S01].concat())
}

#[test]
fn s01_sessions_make_the_days() {
    let session =
        |rpe, minutes| Load::of(Rpe::from_f64(rpe).unwrap(), Minutes::new(minutes).unwrap());
    let days = [
        session(4.0, 60) + session(6.0, 90),
        session(5.0, 45),
        session(6.0, 75),
        session(7.0, 90),
        Load::ZERO,
        session(8.5, 80),
        session(1.5, 30),
    ];
    assert_eq!(days.to_vec(), loads(&S01));
    assert_eq!(60 + 90 + 45 + 75 + 90 + 80 + 30, 470);
}

#[test]
fn s01_one_week_all_settings() {
    let series = series(date(2026, 9, 7), &S01);
    let day = last_day(&series);
    assert_eq!(day.acute_7d, Figure::exact(au(2810.0)));
    let moments = Moments::of(loads(&S01));
    assert_eq!(four(moments.mean().unwrap()), "401.4286");
    let deviation = |divisor| root_four(moments.standard_deviation(divisor).unwrap());
    assert_eq!(deviation(Divisor::Sample), "314.8639");
    assert_eq!(deviation(Divisor::Population), "291.5073");
    assert_eq!(root_four(day.monotony.sample.point.unwrap()), "1.2749");
    assert_eq!(root_four(day.monotony.population.point.unwrap()), "1.3771");
    assert_eq!(root_two(day.strain.sample.point.unwrap()), "3582.55");
    assert_eq!(root_two(day.strain.population.point.unwrap()), "3869.59");
    assert_eq!(
        judged(&series, RuleCode::WeekMonotony).outcome,
        Outcome::NotRaised
    );
}

#[test]
fn s01_shares_by_setting() {
    let of = |part| two(share(au(part), Some(au(2810.0))).unwrap());
    assert_eq!(of(540.0 + 630.0 + 680.0), "65.84");
    assert_eq!(of(450.0), "16.01");
    assert_eq!(of(240.0), "8.54");
    assert_eq!(of(225.0), "8.01");
    assert_eq!(of(45.0), "1.6");
}

#[test]
fn s02_ratios_and_change() {
    let day = last_day(&s02());
    assert_eq!(day.prior_21d, Figure::exact(au(5285.0)));
    let chronic = day.chronic_week.unwrap();
    assert_eq!(four(chronic.coupled), "2023.75");
    assert_eq!(four(chronic.uncoupled), "1761.6667");
    assert_eq!(four(day.ratio_coupled.point.unwrap()), "1.3885");
    assert_eq!(four(day.ratio_uncoupled.point.unwrap()), "1.5951");
    let change = day.change_from_previous_7d;
    assert_eq!(change.au.point.map(LoadChange::to_au), Some(455.0));
    assert_eq!(two(change.pct.point.unwrap()), "19.32");
}

#[test]
fn s02_exponential_means_name_their_seed() {
    let with = |seed| {
        last_day_with(
            &s02(),
            &FigureSettings {
                seed,
                ..FigureSettings::default()
            },
        )
    };
    let four = |value: Option<f64>| Places::Four.round_float(value.unwrap());
    let first_day = with(Seed::FirstDay).ewma;
    assert_eq!(four(first_day.acute), 324.1252);
    assert_eq!(four(first_day.chronic), 315.5443);
    assert_eq!(four(first_day.ratio), 1.0272);
    assert_eq!(first_day.seed.code(), "first_day");
    let zero = with(Seed::Zero).ewma;
    assert_eq!((four(zero.ratio), zero.seed.code()), (1.1784, "zero"));
    let mean = with(Seed::FirstWeekMean).ewma;
    assert_eq!(
        (four(mean.ratio), mean.seed.code()),
        (1.0817, "first_week_mean")
    );
}

#[test]
fn s02_the_kind_of_ratio_changes_the_answer() {
    let coupled = judged(&s02(), RuleCode::WeekEndRatio);
    assert_eq!(coupled.outcome, Outcome::NotRaised);
    assert_eq!(four(coupled.limit_au.unwrap().point), "3171");
    assert_eq!(four(coupled.over_by_au.unwrap().point), "-361");

    let mut draft: PolicyDraft = example_policy().into_draft();
    draft.rules[0].ratio_kind = Some(RatioKind::Uncoupled);
    let week = "2026-W37".parse().unwrap();
    let uncoupled = judge(&draft.check().unwrap(), &s02(), week).unwrap()[0];
    assert_eq!(uncoupled.outcome, Outcome::Raised(Certainty::Certain));
    assert_eq!(four(uncoupled.limit_au.unwrap().point), "2642.5");
    assert_eq!(four(uncoupled.over_by_au.unwrap().point), "167.5");
}

#[test]
fn s02_the_exact_edge_is_not_over() {
    let with_week = |load| {
        let week = [load, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        series(date(2026, 8, 17), &[&S02[..], &week].concat())
    };
    let edge = judged(&with_week(3171.0), RuleCode::WeekEndRatio);
    assert_eq!(edge.outcome, Outcome::NotRaised);
    assert_eq!(four(edge.ratio.unwrap().1.point.unwrap()), "1.5");
    let above = judged(&with_week(3171.5), RuleCode::WeekEndRatio);
    assert_eq!(above.outcome, Outcome::Raised(Certainty::Certain));
    let ratio = above.ratio.unwrap().1.point.unwrap();
    assert_eq!(two(ratio), "1.5");
    assert!((ratio.to_f64() - 1.500_147_82).abs() < 5e-9);
}

#[test]
fn s03_the_load_the_club_coach_cannot_see() {
    let club = [1080.0, 1080.0, 1170.0, 1260.0];
    let school = [300.0, 300.0, 360.0, 1620.0];
    let all: Vec<f64> = club
        .iter()
        .zip(&school)
        .map(|(club, school)| club + school)
        .collect();
    let first = date(2026, 10, 12);
    let club_only = member(first, weeks(&club));
    let whole = member(first, weeks(&all));

    let seen = judged(&club_only, RuleCode::WeekEndRatio);
    assert_eq!(seen.outcome, Outcome::NotRaised);
    assert_eq!(four(seen.ratio.unwrap().1.point.unwrap()), "1.098");
    let change = |series| two(last_day(series).change_from_previous_7d.pct.point.unwrap());
    assert_eq!(change(&club_only), "7.69");

    let raised = judged(&whole, RuleCode::WeekEndRatio);
    assert_eq!(raised.outcome, Outcome::Raised(Certainty::Certain));
    assert_eq!(four(raised.ratio.unwrap().1.point.unwrap()), "1.6067");
    assert_eq!(four(raised.limit_au.unwrap().point), "2574");
    assert_eq!(four(raised.over_by_au.unwrap().point), "306");
    assert_eq!(change(&whole), "88.24");

    let visible = |week: usize| two(share(au(club[week]), Some(au(all[week]))).unwrap());
    assert_eq!(
        [0, 1, 2, 3].map(visible),
        ["78.26", "78.26", "76.47", "43.75"]
    );
    assert_eq!(share(au(1260.0), None), Err(Reason::TotalNotShared));
}

#[test]
fn s06_midnight_and_week_53() {
    let eight = Rpe::from_f64(8.0).unwrap();
    let minutes = |minutes| Minutes::new(minutes).unwrap();
    assert_eq!(Load::of(eight, minutes(45)), au(360.0));
    let (before, after) = split_at_midnight(eight, minutes(20), minutes(25));
    assert_eq!((before, after), (au(160.0), au(200.0)));
    assert_eq!(
        IsoWeek::of(date(2026, 12, 31)).unwrap().to_string(),
        "2026-W53"
    );
    assert_eq!(
        IsoWeek::of(date(2027, 1, 1)).unwrap().to_string(),
        "2026-W53"
    );
    assert_eq!(
        IsoWeek::of(date(2026, 9, 27)).unwrap().to_string(),
        "2026-W39"
    );
}

#[test]
fn s08_an_amendment_takes_a_finding_back() {
    let before = member(date(2026, 8, 17), weeks(&[1400.0, 1450.0, 1500.0, 2700.0]));
    let judgement = judged(&before, RuleCode::WeekEndRatio);
    assert_eq!(judgement.outcome, Outcome::Raised(Certainty::Certain));
    assert_eq!(four(judgement.ratio.unwrap().1.point.unwrap()), "1.5319");
    assert_eq!(four(judgement.over_by_au.unwrap().point), "90");
    let after = member(date(2026, 8, 17), weeks(&[1400.0, 1450.0, 1500.0, 2460.0]));
    let judgement = judged(&after, RuleCode::WeekEndRatio);
    assert_eq!(judgement.outcome, Outcome::NotRaised);
    assert_eq!(four(judgement.ratio.unwrap().1.point.unwrap()), "1.4449");
    assert_eq!(four(judgement.over_by_au.unwrap().point), "-150");
}

#[test]
fn s15_joiner_without_history() {
    let days = [0.0, 450.0, 0.0, 540.0, 225.0, 0.0, 600.0, 0.0, 450.0, 0.0];
    let joiner = series(date(2026, 9, 1), &days);
    let day = last_day(&joiner);
    assert_eq!(day.acute_7d.point, Some(au(1815.0)));
    assert_eq!(day.ratio_coupled, Figure::none(Reason::FewerThan28Days));
    assert_eq!(day.ewma.reason, Some(Reason::FewerThan28Days));
    assert_eq!(day.days_28.known(NothingSaid::AssumedRest), 10);
    assert_eq!(day.days_28.of(DayState::BeforeMembership), 18);

    let longer = series(joiner.first(), &[300.0; 40]);
    let all = day_figures(
        &longer,
        &FigureSettings::default(),
        longer.first(),
        longer.last(),
    );
    let first_ratio = all
        .iter()
        .find(|day| day.ratio_coupled.point.is_some())
        .unwrap();
    assert_eq!(first_ratio.date, date(2026, 9, 28));
    let has_change = |day: &&DayFigures| day.change_from_previous_7d.pct.point.is_some();
    assert_eq!(all.iter().find(has_change).unwrap().date, date(2026, 9, 14));
    assert!(
        all[..13]
            .iter()
            .all(|day| day.change_from_previous_7d.pct.reason == Some(Reason::FewerThan14Days))
    );
}

#[test]
fn s16_no_ratio_while_the_window_touches_a_long_absence() {
    let absent = DayFacts {
        absence: Absence::of_days(35),
        ..DayFacts::default()
    };
    let absent = DayTotal::new(absent, Bounds::default(), 0).unwrap();
    assert_eq!(absent.state(), DayState::Absence);
    let mut days = weeks(&[2100.0, 2300.0, 2200.0, 2400.0]);
    days.extend([absent; 35]);
    days.extend(weeks(&[900.0, 1500.0, 1750.0, 2000.0]));
    let series = member(date(2026, 9, 7), days);
    assert_eq!(series.last(), date(2026, 12, 6));
    let settings = FigureSettings::default();
    let after = day_figures(&series, &settings, date(2026, 10, 5), series.last());
    let (last, before) = after.split_last().unwrap();
    let withheld = Figure::none(Reason::AbsenceInWindow);
    assert!(before.iter().all(|day| day.ratio_coupled == withheld));
    assert!(before.iter().all(|day| day.ratio_uncoupled == withheld));
    assert_eq!(four(last.ratio_coupled.point.unwrap()), "1.3008");
}

#[test]
fn s20_overlapping_sessions_and_their_bounds() {
    let at = |start: i64, minutes: i64, load| Interval {
        start: 60 * start,
        end: 60 * (start + minutes),
        load: au(load),
    };
    let sessions = [at(17 * 60 + 30, 90, 540.0), at(18 * 60, 60, 240.0)];
    let found = overlaps(&sessions);
    assert!(found.iter().all(|session| session.overlaps));
    let counted = sessions
        .iter()
        .zip(&found)
        .filter(|(_, found)| found.counts_in_low);
    assert_eq!(
        counted.map(|(session, _)| session.load).sum::<Load>(),
        au(540.0)
    );
    assert_eq!(
        sessions.iter().map(|session| session.load).sum::<Load>(),
        au(780.0)
    );
    assert_eq!(Setting::parse("school_team"), Some(Setting::SchoolTeam));
}
