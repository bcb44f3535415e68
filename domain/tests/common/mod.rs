//! Days and series written the way the scenarios state them.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

pub mod half_year;
pub mod roster;
pub mod time;

use jiff::ToSpan;
use jiff::civil::Date;
use plimsoll_domain::{
    AthleteWeek, Bounds, DailySeries, DayFacts, DayFigures, DayTotal, FigureSettings, IsoWeek,
    Judgement, Load, Minutes, OpenSession, Places, Policy, PolicyDraft, Root, RuleCode,
    day_figures, judge, judge_figures, week_figures_of,
};

/// A load in AU, halves allowed.
pub fn au(au: f64) -> Load {
    assert_eq!((au * 2.0).fract(), 0.0, "{au} is not a multiple of 0.5");
    let half_au = format!("{:.0}", au * 2.0).parse().unwrap();
    Load::from_half_au(half_au).unwrap()
}

pub fn loads(days: &[f64]) -> Vec<Load> {
    days.iter().copied().map(au).collect()
}

/// A member since `first`, every day known.
pub fn series(first: Date, days: &[f64]) -> DailySeries {
    DailySeries::of_loads(first, &loads(days)).unwrap()
}

/// Weeks whose whole load lies on their Monday.
pub fn weeks(loads: &[f64]) -> Vec<DayTotal> {
    let week = |load: &f64| [*load, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    loads.iter().flat_map(week).map(known).collect()
}

/// A day reported in one expected session, or a declared rest day.
pub fn known(load: f64) -> DayTotal {
    let rest = load == 0.0;
    let sessions = u32::from(!rest);
    let facts = DayFacts {
        rest_declared: rest,
        sessions,
        expected: sessions,
        ..DayFacts::default()
    };
    DayTotal::new(facts, Bounds::exact(au(load)), 0).unwrap()
}

/// A day with one load reported (0 for none) and one session of so many minutes left open.
pub fn open(load: f64, planned_minutes: f64) -> DayTotal {
    let sessions = u32::from(load > 0.0);
    let facts = DayFacts {
        sessions,
        expected: sessions + 1,
        unlogged: 1,
        ..DayFacts::default()
    };
    let high = au(load + 10.0 * planned_minutes);
    DayTotal::new(
        facts,
        Bounds {
            low: au(load),
            point: au(load),
            high,
        },
        0,
    )
    .unwrap()
}

/// The open sessions of a series whose days have one at most, without usual ratings.
pub fn open_sessions(series: &DailySeries) -> Vec<OpenSession> {
    let days = series.days().iter().zip(series.first().series(1.day()));
    let open = days.filter(|(day, _)| day.unlogged() > 0);
    open.map(|(day, date)| {
        assert_eq!(day.unlogged(), 1);
        let half_au = day.load().high.half_au() - day.load().low.half_au();
        OpenSession {
            date,
            minutes: Minutes::new(half_au / 20).unwrap(),
            usual: None,
        }
    })
    .collect()
}

/// The last week of a series as the weekly list takes it.
pub fn athlete_week<K>(
    policy: &Policy,
    key: K,
    name: &str,
    series: &DailySeries,
) -> AthleteWeek<K> {
    let week = IsoWeek::of(series.last()).unwrap();
    let figures = week_figures_of(series, &policy.figure_settings(), week).unwrap();
    AthleteWeek {
        key,
        display_name: name.into(),
        judgements: judge_figures(policy, &figures),
        figures,
        settings: Vec::new(),
        open: open_sessions(series),
    }
}

pub fn member(first: Date, days: Vec<DayTotal>) -> DailySeries {
    DailySeries::new(first, first, days).unwrap()
}

pub fn last_day(series: &DailySeries) -> DayFigures {
    last_day_with(series, &FigureSettings::default())
}

pub fn last_day_with(series: &DailySeries, settings: &FigureSettings) -> DayFigures {
    day_figures(series, settings, series.last(), series.last())[0]
}

pub fn example_policy() -> Policy {
    PolicyDraft::example(jiff::civil::date(2026, 1, 1), "Policy owner")
        .check()
        .unwrap()
}

/// What the example policy's rule says of the last week of a series.
pub fn judged(series: &DailySeries, rule: RuleCode) -> Judgement {
    let week = IsoWeek::of(series.last()).unwrap();
    let judgements = judge(&example_policy(), series, week).unwrap();
    judgements
        .into_iter()
        .find(|judgement| judgement.rule == rule)
        .unwrap()
}

pub fn four(fraction: plimsoll_domain::Fraction) -> String {
    fraction.round(Places::Four).to_string()
}

pub fn two(fraction: plimsoll_domain::Fraction) -> String {
    fraction.round(Places::Two).to_string()
}

pub fn root_four(root: Root) -> String {
    root.round(Places::Four).to_string()
}

pub fn root_two(root: Root) -> String {
    root.round(Places::Two).to_string()
}
