//! The acceptance scenarios of an invented handball club that are pure computation.
#![allow(clippy::unwrap_used, clippy::cast_possible_truncation)]

use jiff::civil::{Date, date};
use plimsoll_domain::{
    DailySeries, DayFigures, Figure, FigureSettings, Fraction, Load, Places, Reason, Root, Seed,
    day_figures,
};

fn loads(au: &[f64]) -> Vec<Load> {
    au.iter()
        .map(|au| Load::from_half_au((au * 2.0) as i64).unwrap())
        .collect()
}

fn series(first: Date, au: &[f64]) -> DailySeries {
    DailySeries::of_loads(first, &loads(au)).unwrap()
}

fn last_day(series: &DailySeries, settings: &FigureSettings) -> DayFigures {
    day_figures(series, settings, series.last(), series.last())[0]
}

fn four(fraction: Option<Fraction>) -> String {
    fraction.unwrap().round(Places::Four).to_string()
}

fn root_four(figure: Figure<Root>) -> String {
    figure.point.unwrap().round(Places::Four).to_string()
}

fn root_two(figure: Figure<Root>) -> String {
    figure.point.unwrap().round(Places::Two).to_string()
}

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
fn s01_one_week_all_settings() {
    let series = series(date(2026, 9, 7), &S01);
    let day = last_day(&series, &FigureSettings::default());
    assert_eq!(day.acute_7d, Figure::exact(Load::from_au(2810)));
    assert_eq!(root_four(day.monotony.sample), "1.2749");
    assert_eq!(root_four(day.monotony.population), "1.3771");
    assert_eq!(root_two(day.strain.sample), "3582.55");
    assert_eq!(root_two(day.strain.population), "3869.59");
}

#[test]
fn s02_ratios_exact_edge_and_kind() {
    let series = s02();
    let day = last_day(&series, &FigureSettings::default());
    assert_eq!(day.prior_21d, Figure::exact(Load::from_au(5285)));
    let chronic = day.chronic_week.unwrap();
    assert_eq!(chronic.coupled.round(Places::Four).to_string(), "2023.75");
    assert_eq!(
        chronic.uncoupled.round(Places::Four).to_string(),
        "1761.6667"
    );
    assert_eq!(four(day.ratio_coupled.point), "1.3885");
    assert_eq!(four(day.ratio_uncoupled.point), "1.5951");
    let change = day.change_from_previous_7d;
    assert_eq!(change.au.point.unwrap().to_au(), 455.0);
    assert_eq!(
        change.pct.point.unwrap().round(Places::Two).to_string(),
        "19.32"
    );
}

#[test]
fn s02_exponential_means_name_their_seed() {
    let series = s02();
    let with = |seed| {
        last_day(
            &series,
            &FigureSettings {
                seed,
                ..FigureSettings::default()
            },
        )
        .ewma
    };
    let first_day = with(Seed::FirstDay);
    assert_eq!(Places::Four.round_float(first_day.acute.unwrap()), 324.1252);
    assert_eq!(
        Places::Four.round_float(first_day.chronic.unwrap()),
        315.5443
    );
    assert_eq!(Places::Four.round_float(first_day.ratio.unwrap()), 1.0272);
    assert_eq!(
        Places::Four.round_float(with(Seed::Zero).ratio.unwrap()),
        1.1784
    );
    assert_eq!(
        Places::Four.round_float(with(Seed::FirstWeekMean).ratio.unwrap()),
        1.0817
    );
    assert_eq!(with(Seed::FirstWeekMean).seed.code(), "first_week_mean");
}

#[test]
fn s15_joiner_has_no_ratio() {
    let joiner = series(
        date(2026, 9, 1),
        &[0.0, 450.0, 0.0, 540.0, 225.0, 0.0, 600.0, 0.0, 450.0, 0.0],
    );
    let day = last_day(&joiner, &FigureSettings::default());
    assert_eq!(day.acute_7d.point, Some(Load::from_au(1815)));
    assert_eq!(day.ratio_coupled, Figure::none(Reason::FewerThan28Days));
}
