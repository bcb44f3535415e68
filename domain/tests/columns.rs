//! The columns hold the exact figures, to 1e-12, and miss exactly those that do not exist.
#![allow(clippy::unwrap_used)]

mod common;

use common::four;
use jiff::civil::date;
use plimsoll_domain::columns::{Column, ColumnSettings, Columns, flag};
use plimsoll_domain::{
    DailySeries, DayFigures, Decimal, Divisor, FigureSettings, Fraction, Load, Moments, Reason,
    Root, day_figures,
};
use proptest::prelude::*;

const SETTINGS: fn() -> ColumnSettings = || ColumnSettings {
    chronic_floor: Load::from_au(250),
    ratio_limit: Decimal::hundredths(150),
};

fn exact(loads: &[Load]) -> Vec<DayFigures> {
    if loads.is_empty() {
        return Vec::new();
    }
    let series = DailySeries::of_loads(date(2026, 9, 7), loads).unwrap();
    day_figures(
        &series,
        &FigureSettings::default(),
        series.first(),
        series.last(),
    )
}

fn value(day: &DayFigures, loads: &[Load], at: usize, column: Column) -> Option<f64> {
    let week = at
        .checked_sub(6)
        .map(|start| Moments::of(loads[start..=at].iter().copied()));
    let root = |figure: Option<Root>| figure.map(Root::to_f64);
    let fraction = |figure: Option<Fraction>| figure.map(Fraction::to_f64);
    match column {
        Column::Acute => day.acute_7d.point.map(Load::to_au),
        Column::Prior => day.prior_21d.point.map(Load::to_au),
        Column::ChronicCoupled => day.chronic_week.map(|week| week.coupled.to_f64()),
        Column::ChronicUncoupled => day.chronic_week.map(|week| week.uncoupled.to_f64()),
        Column::RatioCoupled => fraction(day.ratio_coupled.point),
        Column::RatioUncoupled => fraction(day.ratio_uncoupled.point),
        Column::ChangePct => fraction(day.change_from_previous_7d.pct.point),
        Column::Mean => fraction(week?.mean()),
        Column::StandardDeviation => root(week?.standard_deviation(Divisor::Sample)),
        Column::MonotonySample => root(day.monotony.sample.point),
        Column::MonotonyPopulation => root(day.monotony.population.point),
        Column::StrainSample => root(day.strain.sample.point),
        Column::StrainPopulation => root(day.strain.population.point),
        Column::EwmaAcute => day.ewma.acute,
        Column::EwmaChronic => day.ewma.chronic,
        Column::EwmaRatio => day.ewma.ratio,
    }
}

fn flags(day: &DayFigures, limit: Fraction) -> u8 {
    let short = |reason| day.ratio_coupled.reason == Some(reason);
    let change = day.change_from_previous_7d.pct.reason;
    let monotony = day.monotony.sample.reason;
    let below = day
        .prior_21d
        .point
        .is_some_and(|prior| prior < Load::from_au(750));
    let set = |condition: bool, bit: u8| if condition { bit } else { 0 };
    set(
        monotony == Some(Reason::FewerThan7Days),
        flag::FEWER_THAN_7_DAYS,
    ) | set(
        change == Some(Reason::FewerThan14Days),
        flag::FEWER_THAN_14_DAYS,
    ) | set(short(Reason::FewerThan28Days), flag::FEWER_THAN_28_DAYS)
        | set(monotony == Some(Reason::NoLoad), flag::NO_LOAD)
        | set(monotony == Some(Reason::NoVariation), flag::NO_VARIATION)
        | set(
            change == Some(Reason::NoLoadInPreviousWeek),
            flag::NO_LOAD_IN_PREVIOUS_WEEK,
        )
        | set(below, flag::BELOW_CHRONIC_FLOOR)
        | set(
            day.ratio_coupled.point.is_some_and(|ratio| ratio > limit),
            flag::OVER_LIMIT,
        )
}

fn compare(columns: &Columns, athletes: &[Vec<Load>]) {
    let limit = SETTINGS().ratio_limit.to_fraction();
    let mut row = 0;
    for loads in athletes {
        for (at, day) in exact(loads).iter().enumerate() {
            for column in Column::ALL {
                let found = columns.column(*column)[row];
                match value(day, loads, at, *column) {
                    Some(exact) => {
                        let close = (found - exact).abs() <= 1e-12 * exact.abs();
                        assert!(close, "{column:?} on day {at}: {found} for {exact}");
                    }
                    None => assert!(found.is_nan(), "{column:?} on day {at}: {found} for none"),
                }
            }
            assert_eq!(columns.flags()[row], flags(day, limit), "flags on day {at}");
            row += 1;
        }
    }
    assert_eq!(columns.flags().len(), row);
}

fn athletes() -> impl Strategy<Value = Vec<Vec<Load>>> {
    let load = prop_oneof![3 => Just(0), 3 => 0..3_000_i64, 2 => Just(600), 1 => 0..=30_000_i64];
    let load = load.prop_map(|half_au| Load::from_half_au(half_au).unwrap());
    prop::collection::vec(prop::collection::vec(load, 0..90), 0..5)
}

proptest! {
    #[test]
    fn columns_hold_the_exact_figures(first in athletes(), second in athletes()) {
        let mut columns = Columns::new();
        for athletes in [first, second] {
            let days: Vec<&[Load]> = athletes.iter().map(Vec::as_slice).collect();
            columns.compute(&days, &SETTINGS());
            compare(&columns, &athletes);
        }
    }
}

#[test]
fn over_the_limit_is_strict_on_whole_numbers() {
    let over = |half_au: i64| {
        let mut loads = vec![Load::ZERO; 28];
        loads[0] = Load::from_au(5285);
        loads[27] = Load::from_half_au(half_au).unwrap();
        let mut columns = Columns::new();
        columns.compute(&[&loads], &SETTINGS());
        (
            columns.flags()[27] & flag::OVER_LIMIT != 0,
            columns.column(Column::RatioCoupled)[27],
        )
    };
    assert_eq!(over(6342), (false, 1.5));
    assert!(over(6343).0);
    assert_eq!(four(SETTINGS().ratio_limit.to_fraction()), "1.5");
}

#[test]
fn columns_of_nobody_are_empty() {
    let mut columns = Columns::new();
    columns.compute(&[], &SETTINGS());
    assert!(columns.column(Column::EwmaRatio).is_empty() && columns.flags().is_empty());
}
