//! Invariants that hold for any loads, as properties.
#![allow(clippy::unwrap_used)]

mod common;

use common::member;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::monotony::monotony;
use plimsoll_domain::ratio::ratio;
use plimsoll_domain::strain::strain;
use plimsoll_domain::{
    Bounds, DailySeries, DayFacts, DayFigures, DayTotal, Figure, FigureSettings, Fraction, IsoWeek,
    Load, RatioKind, day_figures, week_figures, window,
};
use proptest::prelude::*;

const FIRST: Date = date(2026, 9, 7);

fn load(half_au: i64) -> Load {
    Load::from_half_au(half_au).unwrap()
}

fn reported(half_au: i64) -> DayTotal {
    DayTotal::logged(load(half_au)).unwrap()
}

/// A day with a load and, where `unlogged` is not zero, one session of up to that load left open.
fn day(logged: i64, unlogged: i64) -> DayTotal {
    if unlogged == 0 {
        return reported(logged);
    }
    let sessions = u32::from(logged > 0);
    let facts = DayFacts {
        sessions,
        expected: sessions + 1,
        unlogged: 1,
        ..DayFacts::default()
    };
    let bounds = Bounds {
        low: load(logged),
        point: load(logged),
        high: load(logged + unlogged),
    };
    DayTotal::new(facts, bounds, 0).unwrap()
}

fn any_load() -> impl Strategy<Value = i64> {
    prop_oneof![3 => Just(0), 6 => 0..3_000_i64, 1 => 0..=30_000_i64, 1 => Just(600)]
}

fn any_day() -> impl Strategy<Value = DayTotal> {
    prop_oneof![
        4 => any_load().prop_map(reported),
        1 => (0..3_000_i64, 1..2_000_i64).prop_map(|(logged, open)| day(logged, open)),
    ]
}

fn days(length: usize) -> impl Strategy<Value = Vec<DayTotal>> {
    prop::collection::vec(any_day(), length)
}

fn known_loads(length: usize) -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(any_load(), length)
}

fn of_loads(loads: &[i64]) -> DailySeries {
    member(FIRST, loads.iter().copied().map(reported).collect())
}

fn without_floor() -> FigureSettings {
    FigureSettings {
        chronic_floor: Load::ZERO,
        ..FigureSettings::default()
    }
}

fn figures(series: &DailySeries) -> Vec<DayFigures> {
    day_figures(series, &without_floor(), series.first(), series.last())
}

fn last(loads: &[i64]) -> DayFigures {
    *figures(&of_loads(loads)).last().unwrap()
}

/// `inner` is no wider than `outer`. A missing end is an open end.
fn within<T: PartialOrd + Copy>(inner: Figure<T>, outer: Figure<T>) -> bool {
    let low = outer
        .low
        .is_none_or(|outer| inner.low.is_none_or(|inner| inner >= outer));
    let high = outer
        .high
        .is_none_or(|outer| inner.high.is_some_and(|inner| inner <= outer));
    low && (high || inner.point.is_none())
}

fn encloses<T: PartialOrd + Copy>(figure: Figure<T>) -> bool {
    let ends = [figure.low, figure.point, figure.high];
    let present: Vec<T> = ends.into_iter().flatten().collect();
    present.windows(2).all(|pair| pair[0] <= pair[1])
}

/// The highest population monotony by repeating `t = Q / S` over days clamped to t.
fn highest_by_iteration(week: &[DayTotal]) -> f64 {
    let half_au = |load: Load| 2.0 * load.to_au();
    let mut t = week.iter().map(|day| half_au(day.load().high)).sum::<f64>() / 7.0;
    let (mut sum, mut squares) = (0.0, 0.0);
    for _ in 0..2_000 {
        let clamped = week
            .iter()
            .map(|day| t.clamp(half_au(day.load().low), half_au(day.load().high)));
        (sum, squares) = clamped.fold((0.0, 0.0), |(sum, squares), day| {
            (sum + day, squares + day * day)
        });
        t = squares / sum;
    }
    sum / (7.0 * squares - sum * sum).sqrt()
}

proptest! {
    #[test]
    fn coupled_ratio_lies_between_zero_and_four(days in days(40)) {
        for day in figures(&member(FIRST, days)) {
            let ratio = day.ratio_coupled;
            for value in [ratio.low, ratio.point, ratio.high].into_iter().flatten() {
                prop_assert!(value >= Fraction::ZERO && value <= Fraction::whole(4));
            }
        }
    }

    #[test]
    fn bounds_enclose_the_point(days in days(40)) {
        for day in figures(&member(FIRST, days)) {
            prop_assert!(encloses(day.acute_7d) && encloses(day.prior_21d));
            prop_assert!(encloses(day.ratio_coupled) && encloses(day.ratio_uncoupled));
            prop_assert!(encloses(day.monotony.sample) && encloses(day.monotony.population));
            prop_assert!(encloses(day.strain.sample) && encloses(day.strain.population));
            prop_assert!(encloses(day.change_from_previous_7d.pct));
        }
    }

    #[test]
    fn monotony_is_least_for_a_single_session(loads in known_loads(7), only in 1..3_000_i64) {
        let single = last(&[0, 0, only, 0, 0, 0, 0]).monotony;
        let (sample, population) = (single.sample.point.unwrap(), single.population.point.unwrap());
        prop_assert!((sample.to_f64() - (1.0_f64 / 7.0).sqrt()).abs() < 1e-15);
        prop_assert!((population.to_f64() - (1.0_f64 / 6.0).sqrt()).abs() < 1e-15);
        let week = last(&loads).monotony;
        prop_assert!(week.sample.point.is_none_or(|monotony| monotony >= sample));
        prop_assert!(week.population.point.is_none_or(|monotony| monotony >= population));
    }

    #[test]
    fn more_load_this_week_never_lowers_the_coupled_ratio(
        loads in known_loads(28), at in 21..28_usize, more in 1..3_000_i64,
    ) {
        let mut fuller = loads.clone();
        fuller[at] = (fuller[at] + more).min(30_000);
        let (before, after) = (last(&loads).ratio_coupled, last(&fuller).ratio_coupled);
        prop_assert!(before.point.is_none_or(|before| after.point.unwrap() >= before));
    }

    #[test]
    fn more_load_before_never_raises_the_coupled_ratio(
        loads in known_loads(28), at in 0..21_usize, more in 1..3_000_i64,
    ) {
        let mut fuller = loads.clone();
        fuller[at] = (fuller[at] + more).min(30_000);
        let (before, after) = (last(&loads).ratio_coupled, last(&fuller).ratio_coupled);
        prop_assert!(before.point.is_none_or(|before| after.point.unwrap() <= before));
    }

    #[test]
    fn coupled_and_uncoupled_are_two_faces_of_one_quantity(loads in known_loads(28)) {
        let day = last(&loads);
        if let (Some(r), Some(u)) = (day.ratio_coupled.point, day.ratio_uncoupled.point) {
            // r = 4u / (u + 3)
            let (num, den) = (u.numerator(), u.denominator());
            prop_assert_eq!(Some(r), Fraction::new(4 * num, num + 3 * den));
        }
    }

    #[test]
    fn scaling_changes_only_what_has_a_unit(
        loads in prop::collection::vec(0..3_000_i64, 28), factor in 2..10_i64,
    ) {
        let scaled: Vec<i64> = loads.iter().map(|load| load * factor).collect();
        let (one, many) = (last(&loads), last(&scaled));
        prop_assert_eq!(one.ratio_coupled, many.ratio_coupled);
        prop_assert_eq!(one.ratio_uncoupled, many.ratio_uncoupled);
        prop_assert_eq!(one.monotony, many.monotony);
        if let (Some(one), Some(many)) = (one.strain.sample.point, many.strain.sample.point) {
            let ratio = many.to_f64() / one.to_f64();
            prop_assert!((ratio - Fraction::whole(factor).to_f64()).abs() < 1e-12 * 10.0);
        }
    }

    #[test]
    fn the_order_of_the_days_does_not_change_monotony(
        (days, shuffled) in days(7).prop_flat_map(|days| (Just(days.clone()), Just(days).prop_shuffle())),
    ) {
        prop_assert_eq!(monotony(&days), monotony(&shuffled));
    }

    #[test]
    fn a_session_split_in_two_changes_only_the_count(
        loads in known_loads(28), at in 0..28_usize, rpe in 1..=20_i64, minutes in 2..=600_i64,
        cut in 1..600_i64,
    ) {
        let cut = 1 + cut % (minutes - 1);
        let with = |sessions: &[i64]| {
            let mut days: Vec<DayTotal> = loads.iter().copied().map(reported).collect();
            let total = load(sessions.iter().map(|minutes| rpe * minutes).sum());
            let count = u32::try_from(sessions.len()).unwrap();
            let facts = DayFacts { sessions: count, expected: count, ..DayFacts::default() };
            let minutes = u32::try_from(sessions.iter().sum::<i64>()).unwrap();
            days[at] = DayTotal::new(facts, Bounds::exact(total), minutes).unwrap();
            figures(&member(FIRST, days))
        };
        let (whole, mut split) = (with(&[minutes]), with(&[cut, minutes - cut]));
        prop_assert_eq!(split[at].sessions, whole[at].sessions + 1);
        split[at].sessions = whole[at].sessions;
        prop_assert_eq!(whole, split);
    }

    #[test]
    fn logging_a_session_never_widens_an_interval(
        days in days(28), at in 0..28_usize, logged in 0..1_000_i64, planned in 1..2_000_i64,
        given in 0..2_000_i64,
    ) {
        let with = |day| {
            let mut days = days.clone();
            days[at] = day;
            *figures(&member(FIRST, days)).last().unwrap()
        };
        let unlogged = with(day(logged, planned));
        let known = with(reported(logged + given % (planned + 1)));
        prop_assert!(within(known.acute_7d, unlogged.acute_7d));
        prop_assert!(within(known.prior_21d, unlogged.prior_21d));
        prop_assert!(within(known.ratio_coupled, unlogged.ratio_coupled));
        prop_assert!(within(known.ratio_uncoupled, unlogged.ratio_uncoupled));
        prop_assert!(within(known.monotony.sample, unlogged.monotony.sample));
        prop_assert!(within(known.strain.population, unlogged.strain.population));
        let pct = |day: DayFigures| day.change_from_previous_7d.pct;
        prop_assert!(within(pct(known), pct(unlogged)));
    }

    #[test]
    fn seven_days_later_is_the_same_seven_days_later(days in days(60)) {
        let here = figures(&member(FIRST, days.clone()));
        let later = figures(&member(FIRST.saturating_add(7.days()), days));
        let moved: Vec<DayFigures> = here
            .into_iter()
            .map(|day| DayFigures { date: day.date.saturating_add(7.days()), ..day })
            .collect();
        prop_assert_eq!(moved, later);
    }

    #[test]
    fn a_change_reaches_its_windows_and_no_further(
        loads in known_loads(80), at in 0..80_usize, other in any_load(),
    ) {
        let mut changed = loads.clone();
        changed[at] = other;
        let (before, after) = (figures(&of_loads(&loads)), figures(&of_loads(&changed)));
        for (day, (before, after)) in before.iter().zip(&after).enumerate() {
            let age = day.checked_sub(at);
            let reached = |days| age.is_some_and(|age| age < days);
            if !reached(7) {
                prop_assert_eq!(before.acute_7d, after.acute_7d);
                prop_assert_eq!(before.monotony, after.monotony);
                prop_assert_eq!(before.strain, after.strain);
            }
            if !reached(14) {
                prop_assert_eq!(before.change_from_previous_7d, after.change_from_previous_7d);
            }
            if !reached(28) {
                prop_assert_eq!(before.chronic_week, after.chronic_week);
                prop_assert_eq!(before.ratio_coupled, after.ratio_coupled);
                prop_assert_eq!(before.ratio_uncoupled, after.ratio_uncoupled);
            }
            if age.is_none() && at > 0 {
                prop_assert_eq!(before.ewma, after.ewma);
            }
        }
    }

    #[test]
    fn a_week_is_what_its_sunday_says(days in days(70)) {
        let series = member(FIRST, days);
        let settings = without_floor();
        let (from, to) = (IsoWeek::of(FIRST).unwrap(), IsoWeek::of(series.last()).unwrap());
        let by_date = figures(&series);
        for week in week_figures(&series, &settings, from, to) {
            let sunday = by_date.iter().find(|day| day.date == week.week.sunday()).unwrap();
            prop_assert_eq!(Figure::bounded(week.load), sunday.acute_7d);
            prop_assert_eq!(week.prior_21d, sunday.prior_21d);
            prop_assert_eq!(week.ratio_coupled, sunday.ratio_coupled);
            prop_assert_eq!(week.ratio_uncoupled, sunday.ratio_uncoupled);
            prop_assert_eq!(week.monotony, sunday.monotony);
            prop_assert_eq!(week.strain, sunday.strain);
            prop_assert_eq!(week.change, sunday.change_from_previous_7d);
            prop_assert_eq!(week.days_28, sunday.days_28);
            prop_assert_eq!(week.chronic_week, sunday.chronic_week);
        }
    }

    #[test]
    fn a_slice_gives_the_figures_of_the_whole(days in days(80), cut in 1..50_usize) {
        let whole = member(FIRST, days.clone());
        let start = FIRST.saturating_add(i64::try_from(cut).unwrap().days());
        let slice = DailySeries::new(FIRST, start, days[cut..].to_vec()).unwrap();
        let from_slice = figures(&slice);
        prop_assert_eq!(from_slice[0].date, start.saturating_add(27.days()));
        for (whole, slice) in figures(&whole)[cut + 27..].iter().zip(&from_slice) {
            prop_assert!(slice.ewma.ratio.is_none());
            prop_assert_eq!(DayFigures { ewma: slice.ewma, ..*whole }, *slice);
        }
    }

    #[test]
    fn any_week_inside_the_bounds_has_a_monotony_inside_the_bounds(
        week in days(7), picks in prop::collection::vec(0..=8_i64, 7),
    ) {
        let inside = |(day, pick): (&DayTotal, &i64)| {
            let Bounds { low, high, .. } = day.load();
            reported(low.half_au() + (high.half_au() - low.half_au()) * pick / 8)
        };
        let picked: Vec<DayTotal> = week.iter().zip(&picks).map(inside).collect();
        let (bounds, one) = (monotony(&week), monotony(&picked));
        for (bounds, one) in [(bounds.sample, one.sample), (bounds.population, one.population)] {
            if let Some(point) = one.point {
                prop_assert!(bounds.low.unwrap() <= point);
                prop_assert!(bounds.high.is_none_or(|high| point <= high));
            }
        }
        let outer = strain(window::total(&week), bounds).sample;
        let point = strain(window::total(&picked), one).sample.point;
        if let Some(point) = point {
            prop_assert!(outer.low.unwrap() <= point);
            prop_assert!(outer.high.is_none_or(|high| point <= high));
        }
    }

    #[test]
    fn the_bounds_of_monotony_are_attained(week in days(7)) {
        let bounds = monotony(&week).population;
        let corner = |corner: u32| -> Vec<DayTotal> {
            let end = |(at, day): (usize, &DayTotal)| {
                let load = day.load();
                reported(if corner >> at & 1 == 1 { load.high } else { load.low }.half_au())
            };
            week.iter().enumerate().map(end).collect()
        };
        let corners = (0..128).filter_map(|at| monotony(&corner(at)).population.point);
        if let Some(least) = corners.min_by(|a, b| a.cmp(b)) {
            let empty_possible = week.iter().all(|day| day.load().low == Load::ZERO);
            prop_assert!(empty_possible || bounds.low.unwrap() == least);
        }
        if let Some(high) = bounds.high {
            prop_assert!((high.to_f64() / highest_by_iteration(&week) - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_higher_floor_only_takes_ratios_away(
        acute in 0..100_000_i64, prior in 0..300_000_i64, floor in 0..10_000_i64,
    ) {
        for kind in [RatioKind::Coupled, RatioKind::Uncoupled] {
            let of = |floor| ratio(kind, Bounds::exact(load(acute)), Bounds::exact(load(prior)), floor);
            let (free, floored) = (of(Load::ZERO), of(load(floor)));
            prop_assert!(floored == free || floored.point.is_none());
            prop_assert_eq!(floored.point.is_some(), free.point.is_some() && prior >= 3 * floor);
        }
    }

    #[test]
    fn days_before_membership_change_nothing(days in days(60), before in 1..40_usize) {
        let since = FIRST.saturating_add(i64::try_from(before).unwrap().days());
        let alone = member(since, days.clone());
        let padded = [&vec![DayTotal::before_membership(); before][..], &days].concat();
        let padded = DailySeries::new(since, FIRST, padded).unwrap();
        prop_assert_eq!(figures(&padded), figures(&alone));
        let means = |series| plimsoll_domain::ewma::ewma(series, plimsoll_domain::Seed::FirstDay);
        prop_assert_eq!(&means(&padded)[before..], &means(&alone)[..]);
        let (from, to) = (IsoWeek::of(FIRST).unwrap(), IsoWeek::of(alone.last()).unwrap());
        let weeks = |series| week_figures(series, &without_floor(), from, to);
        prop_assert_eq!(weeks(&padded), weeks(&alone));
    }
}
