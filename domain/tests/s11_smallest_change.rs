//! S11, the smallest change of a plan: cuts alone, in the week view.
#![allow(clippy::unwrap_used)]

mod common;

use common::half_year::{history, plan};
use common::{au, example_policy};
use plimsoll_domain::plan::{build_up, games_within, smallest_cuts, weeks_before};
use plimsoll_domain::{Load, Places, RatioLimit, WideFraction};

fn four(exact: &WideFraction) -> String {
    exact.round(Places::Four).to_string()
}

/// Weeks 3, 4 and 24 were not over before; they become so when the weeks before them are cut.
#[test]
fn s11_the_half_year_plan_keeps_the_most_in_every_week() {
    let plan = plan();
    let before = weeks_before(&history(), plan.first()).unwrap();
    assert_eq!(before, [550.0; 4].map(au));
    let limit = RatioLimit::of(&example_policy()).unwrap();
    let cuts = smallest_cuts(limit, &before, &plan.week_loads());
    let cut: Vec<(usize, String, String)> = (1..)
        .zip(&cuts.weeks)
        .filter(|(_, week)| !week.cut.is_zero())
        .map(|(number, week)| (number, four(&week.kept), four(&week.cut)))
        .collect();
    let expected = [
        (1, "990", "1035"),
        (2, "1254", "1146"),
        (3, "1676.4", "1278.6"),
        (4, "2352.24", "197.76"),
        (12, "3969", "411"),
        (23, "1818", "1152"),
        (24, "2386.8", "313.2"),
    ];
    let expected = expected.map(|(number, kept, cut)| (number, kept.into(), cut.into()));
    assert_eq!(cut, expected);
    assert_eq!(four(&cuts.total), "5533.56");
    let short: Vec<usize> = (1..)
        .zip(&cuts.weeks)
        .filter(|(_, week)| !week.short_by.is_zero())
        .map(|(number, _)| number)
        .collect();
    assert_eq!(short, [22]);
}

#[test]
fn s11_week_22_is_short_by_732() {
    let plan = plan();
    let before = weeks_before(&history(), plan.first()).unwrap();
    let limit = RatioLimit::of(&example_policy()).unwrap();
    let loads = plan.week_loads();
    let cuts = smallest_cuts(limit, &before, &loads);
    let week = &cuts.weeks[21];
    let most = week.limit.as_ref().unwrap();
    assert_eq!(
        (four(most), four(&week.short_by)),
        ("1188".into(), "732".into())
    );
    assert_eq!(loads[21].protected(), au(1920.0));
    let planned: Vec<Load> = loads[..21].iter().map(|week| week.planned()).collect();
    let built = build_up(limit, &week.short_by, &planned, &[]).unwrap();
    assert_eq!(four(&built.extra), "1220");
    assert!(built.fits());
    assert_eq!(games_within(most, au(320.0), 6), 3);
}
