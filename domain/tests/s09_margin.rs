//! S09, the margin to the limit in a running week, week view and rolling view.
#![allow(clippy::unwrap_used)]

mod common;

use common::{au, example_policy, four, series};
use jiff::civil::{Date, date};
use plimsoll_domain::margin::{FixedLoad, Margin, margin, minutes_at};
use plimsoll_domain::plan::{CutBy, Shortenable, least_change, rolling_needs, week_need};
use plimsoll_domain::ratio::ratio_at;
use plimsoll_domain::{
    DailySeries, Decimal, Fraction, IsoWeek, Load, Minutes, RatioKind, RatioLimit, Rpe,
};

const BEFORE: [f64; 28] = [
    300.0, 150.0, 300.0, 450.0, 0.0, 500.0, 0.0, // 5-11 October 2026
    360.0, 225.0, 0.0, 450.0, 225.0, 540.0, 0.0, // 12-18 October
    450.0, 225.0, 0.0, 450.0, 225.0, 540.0, 0.0, // 19-25 October
    225.0, 225.0, 0.0, 300.0, 225.0, 700.0, 775.0, // 26 October-1 November
];
const DONE: [f64; 4] = [540.0, 225.0, 0.0, 630.0];
const THURSDAY: Date = date(2026, 11, 5);

fn until(done: &[f64]) -> DailySeries {
    series(date(2026, 10, 5), &[&BEFORE[..], done].concat())
}

fn on_thursday(limit: RatioLimit) -> Margin {
    // On Saturday three games of 30 minutes at 7, on Sunday two at 8.
    let fixed = [(date(2026, 11, 7), 630.0), (date(2026, 11, 8), 480.0)];
    let fixed = fixed.map(|(date, load)| FixedLoad {
        date,
        load: au(load),
    });
    margin(limit, &until(&DONE), &fixed).unwrap()
}

fn minutes_at_5(left: Fraction) -> Option<u32> {
    minutes_at(left, Rpe::from_f64(5.0).unwrap())
}

#[test]
fn s09_week_view() {
    let found = on_thursday(RatioLimit::of(&example_policy()).unwrap());
    let figures = [found.limit_au, found.left, found.left_after_fixed];
    assert_eq!(
        figures.map(|figure| four(figure.point.unwrap())),
        ["3684", "2289", "1179"]
    );
    assert_eq!(
        minutes_at_5(found.left_after_fixed.point.unwrap()),
        Some(235)
    );
    assert!(figures.iter().all(|figure| figure.low == figure.high));
}

#[test]
fn s09_week_view_at_a_limit_of_1_3() {
    let limit = RatioLimit::new(
        RatioKind::Coupled,
        Decimal::hundredths(130),
        Load::from_au(250),
    );
    let found = on_thursday(limit.unwrap());
    let figures = [found.limit_au, found.left, found.left_after_fixed];
    assert_eq!(
        figures.map(|figure| four(figure.point.unwrap())),
        ["2956.2963", "1561.2963", "451.2963"]
    );
}

/// Slacks of 229, 1049 and 2289; after the games 229, 419 and 1179.
#[test]
fn s09_rolling_view() {
    let found = on_thursday(RatioLimit::of(&example_policy()).unwrap());
    let rolling: Vec<(Date, String)> = found
        .rolling
        .iter()
        .map(|(date, left)| (*date, four(left.point.unwrap())))
        .collect();
    let expected = [
        (date(2026, 11, 6), "229".to_owned()),
        (date(2026, 11, 7), "419".to_owned()),
        (date(2026, 11, 8), "1179".to_owned()),
    ];
    assert_eq!(rolling, expected);
    assert_eq!(minutes_at_5(found.rolling[0].1.point.unwrap()), Some(45));
    assert_eq!(found.own_highest_day, au(775.0));
}

#[test]
fn s09_thursday_is_over_already() {
    let ratio = ratio_at(
        &until(&DONE),
        THURSDAY,
        RatioKind::Coupled,
        Load::from_au(250),
    );
    assert_eq!(four(ratio.point.unwrap()), "1.5408");
}

/// The week would be well within the limit on Sunday, and Friday is over it.
#[test]
fn s09_an_hour_at_5_on_friday() {
    let week = until(&[&DONE[..], &[300.0, 630.0, 480.0]].concat());
    let at = |date| {
        ratio_at(&week, date, RatioKind::Coupled, Load::from_au(250))
            .point
            .unwrap()
    };
    assert_eq!(four(at(week.last())), "1.2543");
    assert!(at(date(2026, 11, 6)) > Fraction::new(3, 2).unwrap());
    let within = until(&[&DONE[..], &[229.0]].concat());
    let edge = ratio_at(&within, within.last(), RatioKind::Coupled, Load::ZERO);
    assert_eq!(edge.point, Fraction::new(3, 2));
}

/// Friday may take 229 AU; an hour at 5 gives the rest back in 5-minute steps. On Sunday nothing is over.
#[test]
fn s09_friday_gives_15_minutes() {
    let week = until(&[&DONE[..], &[300.0, 630.0, 480.0]].concat());
    let limit = RatioLimit::of(&example_policy()).unwrap();
    let this_week = IsoWeek::of(THURSDAY).unwrap();
    assert_eq!(week_need(limit, &week, this_week), Ok(None));
    let friday = date(2026, 11, 6);
    let needs = rolling_needs(limit, &week, this_week, friday).unwrap();
    let need = CutBy {
        date: friday,
        au: Fraction::whole(71),
    };
    assert_eq!(needs, [need]);
    let practice = Shortenable {
        id: "practice",
        start: friday.at(18, 0, 0, 0),
        intended: Rpe::from_f64(5.0).unwrap(),
        minutes: Minutes::new(60).unwrap(),
        least: None,
    };
    let change = least_change(&[practice], &needs).unwrap();
    assert_eq!(
        (change.total, change.sessions[0].kept_minutes),
        (au(75.0), 45)
    );
}
