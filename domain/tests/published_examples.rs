//! Values published outside this project, each with its source.
//!
//! The exponential means and rolling windows are also compared with pandas (PyPI) on random
//! athletes, in `tests/differential/compare.py`.
#![allow(clippy::unwrap_used)]

mod common;

use common::{four, last_day_with, member, root_four, two, weeks};
use jiff::civil::date;
use plimsoll_domain::ewma::ExponentialMean;
use plimsoll_domain::ratio::ratio;
use plimsoll_domain::{
    Bounds, DailySeries, Divisor, FigureSettings, Fraction, Load, Minutes, Moments, RatioKind, Rpe,
};

fn half_au(count: i64) -> Load {
    Load::from_half_au(count).unwrap()
}

/// The product of the session RPE and the minutes of the bout.
/// Source: Foster C, et al. (2001) J Strength Cond Res 15(1):109-115.
#[test]
fn check_1_session_load() {
    let load = Load::of(Rpe::from_f64(5.0).unwrap(), Minutes::new(30).unwrap());
    assert_eq!(load.to_au(), 150.0);
}

/// Monotony is the daily mean over the standard deviation, strain the load times that.
/// Source: Foster C (1998) Med Sci Sports Exerc 30(7):1164-1168. Foster 2001, Table 5, prints 3400
/// AU x 1.26 = 4284: the monotony was rounded first. Here it is not, so the product of rounded
/// figures only comes near.
#[test]
fn checks_2_and_3_strain_is_not_a_product_of_rounded_figures() {
    assert_eq!(3400 * 126, 4284 * 100);
    let week = [780, 225, 450, 630, 0, 680, 45].map(Load::from_au);
    let series = DailySeries::of_loads(date(2026, 9, 7), &week).unwrap();
    let day = last_day_with(&series, &FigureSettings::default());
    let moments = Moments::of(week);
    let monotony = day.monotony.sample.point.unwrap();
    let deviation = moments.standard_deviation(Divisor::Sample).unwrap();
    let quotient = moments.mean().unwrap().to_f64() / deviation.to_f64();
    assert!((monotony.to_f64() / quotient - 1.0).abs() < 1e-14);
    let strain = day.strain.sample.point.unwrap().to_f64();
    assert!((strain / (2810.0 * quotient) - 1.0).abs() < 1e-14);
    assert_eq!(root_four(monotony), "1.2749");
    assert!((strain - 2810.0 * 1.2749).abs() > 0.05);
}

/// Population and sample monotony of seven days differ by sqrt(7/6). Algebra.
#[test]
fn check_4_divisors_differ_by_a_constant() {
    let week = [300, 420, 0, 510, 225, 0, 640].map(Load::from_au);
    let series = DailySeries::of_loads(date(2026, 9, 7), &week).unwrap();
    let monotony = last_day_with(&series, &FigureSettings::default()).monotony;
    let ratio =
        monotony.population.point.unwrap().to_f64() / monotony.sample.point.unwrap().to_f64();
    assert!((ratio - 1.080_123_4).abs() < 5e-8);
}

/// Both ratios of a week that is `uncoupled` times the weekly mean of the three before.
fn both(num: i64, den: i64) -> (Fraction, Fraction) {
    let of = |kind| {
        let (acute, prior) = (half_au(1000 * num), half_au(3 * 1000 * den));
        let ratio = ratio(kind, Bounds::exact(acute), Bounds::exact(prior), Load::ZERO);
        ratio.point.unwrap()
    };
    (of(RatioKind::Coupled), of(RatioKind::Uncoupled))
}

/// Coupled c and uncoupled u: c = 4u / (u + 3), never above 4. Sources on coupling: Lolli L, et al.
/// (2019) Br J Sports Med 53(15):921-922; Windt J, Gabbett TJ (2019) Br J Sports Med
/// 53(16):988-990; the algebra is ours.
#[test]
fn check_5_coupled_and_uncoupled() {
    let printed = [
        (1, 2, 0.571_429),
        (3, 4, 0.8),
        (1, 1, 1.0),
        (13, 10, 1.209_302),
        (3, 2, 1.333_333),
        (9, 5, 1.5),
        (2, 1, 1.6),
        (3, 1, 2.0),
        (9, 1, 3.0),
    ];
    for (num, den, coupled) in printed {
        let (c, u) = both(num, den);
        assert_eq!(Some(u), Fraction::new(num, den));
        assert!((c.to_f64() - coupled).abs() < 5e-7, "{u:?}");
        let back = 3.0 * c.to_f64() / (4.0 - c.to_f64());
        assert!((back - u.to_f64()).abs() < 1e-12);
    }
    assert!(both(1_000_000, 1).0 < Fraction::whole(4));
}

/// One normal week after three, two and one empty weeks. Algebra.
#[test]
fn check_6_first_week_after_empty_ones() {
    let settings = FigureSettings {
        chronic_floor: Load::ZERO,
        ..FigureSettings::default()
    };
    let coupled = |loads: &[f64]| {
        let day = last_day_with(&member(date(2026, 9, 7), weeks(loads)), &settings);
        four(day.ratio_coupled.point.unwrap())
    };
    assert_eq!(coupled(&[0.0, 0.0, 0.0, 1000.0]), "4");
    assert_eq!(coupled(&[1000.0, 0.0, 0.0, 1000.0]), "2");
    assert_eq!(coupled(&[1000.0, 0.0, 1000.0, 1000.0]), "1.3333");
}

/// Marks quoted in print belong to the coupled form; in the uncoupled form they are others.
/// Source: Gabbett TJ (2016) Br J Sports Med 50(5):273-280, the coupled marks being values from
/// memory; Hulin BT, et al. (2014) Br J Sports Med 48(8):708-712.
#[test]
fn check_7_marks_of_the_two_forms() {
    for (num, den, coupled, uncoupled) in [
        (3, 4, "0.8", "0.75"),
        (13, 9, "1.3", "1.4444"),
        (9, 5, "1.5", "1.8"),
        (3, 1, "2", "3"),
    ] {
        let (c, u) = both(num, den);
        assert_eq!((four(c).as_str(), four(u).as_str()), (coupled, uncoupled));
    }
}

/// How much the start still weighs. Source: Williams S, et al. (2017) Br J Sports Med
/// 51(3):209-210 for lambda = 2 / (N + 1); the initial load: Wang C, et al. (2020) Sports Med
/// 50(7):1243-1254; the weights are computed from the definition.
#[test]
fn check_8_weight_of_the_seed() {
    assert_eq!(
        ExponentialMean::over_days(7, 0.0),
        ExponentialMean::with_weight(0.25, 0.0)
    );
    let weights = |first: f64| -> Vec<f64> {
        let mut mean = ExponentialMean::over_days(28, 1.0);
        (1..=70)
            .map(|day| mean.update(if day == 1 { first } else { 0.0 }))
            .collect()
    };
    let below = |weights: &[f64], limit| 1 + weights.iter().position(|w| *w < limit).unwrap();
    let seed = weights(0.0);
    assert!((seed[27] - 0.135).abs() < 5e-4);
    assert_eq!((below(&seed, 0.05), below(&seed, 0.01)), (42, 65));
    let first_day = weights(1.0);
    assert!((first_day[27] - 0.145).abs() < 5e-4);
    assert_eq!(below(&first_day, 0.05), 43);
}

/// A flat athlete whose last week is heavier: 1.43 by rolling sums, 1.25 by exponential means.
/// Source: Williams S, et al. (2017) Br J Sports Med 51(3):209-210 prints the rounded pair; the
/// daily series, 21 days at 6/7 and 7 at 10/7 of a unit, is our inference.
#[test]
fn check_9_rolling_and_exponential_ratio() {
    let mut loads = vec![Load::from_au(600); 21];
    loads.extend([Load::from_au(1000); 7]);
    let series = DailySeries::of_loads(date(2026, 9, 7), &loads).unwrap();
    let day = last_day_with(&series, &FigureSettings::default());
    assert!((day.ratio_coupled.point.unwrap().to_f64() - 1.428_571).abs() < 5e-7);
    assert!((day.ewma.ratio.unwrap() - 1.249_746).abs() < 5e-7);
}

/// Certified mean and standard deviation (n - 1). Source: NIST Statistical Reference Datasets,
/// univariate summary statistics, NumAcc1 to NumAcc4. The moments are of whole numbers, so the sets
/// with one decimal place are taken ten times; a load in AU is half its count of half-AU.
#[test]
fn check_11_nist_mean_and_standard_deviation() {
    let alternating = |first: i64, low: i64, high: i64| {
        let pairs = [low, high].into_iter().cycle().take(1000);
        Moments::of([first].into_iter().chain(pairs).map(half_au))
    };
    let sets = [
        (
            Moments::of([10_000_001, 10_000_003, 10_000_002].map(half_au)),
            10_000_002,
        ),
        (alternating(12, 11, 13), 12),
        (alternating(10_000_002, 10_000_001, 10_000_003), 10_000_002),
        (
            alternating(100_000_002, 100_000_001, 100_000_003),
            100_000_002,
        ),
    ];
    for (moments, mean) in sets {
        assert_eq!(moments.mean(), Fraction::new(mean, 2));
        let deviation = moments.standard_deviation(Divisor::Sample).unwrap();
        assert_eq!(deviation.to_f64(), 0.5, "1 in the scaled set, exactly");
    }
}

/// An exponentially weighted chart with lambda 0.3 that starts at 50.
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
#[test]
fn check_12_exponentially_weighted_chart() {
    let data = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8,
        51.2, 52.6, 52.4, 53.6, 52.1,
    ];
    let printed = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
        50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    let mut mean = ExponentialMean::with_weight(0.3, 50.0);
    for (value, printed) in data.into_iter().zip(printed) {
        assert!((mean.update(value) - printed).abs() <= 0.005 + 1e-9);
    }
}

/// A percentage that is exactly half way rounds to the even neighbour: 2970 AU after 2880 AU is a
/// rise of 3.125 %. Computed from the definition.
#[test]
fn exact_ties_round_to_even() {
    let series = member(date(2026, 9, 7), weeks(&[2880.0, 2970.0]));
    let day = last_day_with(&series, &FigureSettings::default());
    assert_eq!(two(day.change_from_previous_7d.pct.point.unwrap()), "3.12");
}
