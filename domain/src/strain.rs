//! Training strain: the load of a week times its monotony, in AU.
//!
//! Source: Foster C (1998) Med Sci Sports Exerc 30(7):1164-1168. Foster 2001 prints a week of 3400
//! AU at monotony 1.26 as 4284, the product of the rounded figures; here nothing is rounded before
//! the product.

use crate::exact::Root;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::monotony::ByDivisor;

/// The training strain of a week from its load and its monotony.
///
/// The bounds are outer ones: least load times least monotony to most load times most monotony,
/// which need not be attained together. It is missing where monotony is, for the same reason.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, Load, Places, monotony::monotony, strain::strain, window};
/// let loads = [780, 225, 450, 630, 0, 680, 45].map(Load::from_au);
/// let week = DailySeries::of_loads(date(2026, 9, 7), &loads).unwrap();
/// let strain = strain(window::total(week.days()), monotony(week.days()));
/// assert_eq!(strain.sample.point.unwrap().round(Places::Two).to_string(), "3582.55");
/// ```
#[must_use]
pub fn strain(
    week_load: Bounds<Load>,
    monotony: ByDivisor<Figure<Root>>,
) -> ByDivisor<Figure<Root>> {
    let product = |load: Load, monotony: Option<Root>| {
        monotony.map(|monotony| monotony.times(load.half_au()).halved())
    };
    let of = |monotony: Figure<Root>| Figure {
        low: product(week_load.low, monotony.low),
        point: product(week_load.point, monotony.point),
        high: product(week_load.high, monotony.high),
        reason: monotony.reason,
    };
    ByDivisor {
        sample: of(monotony.sample),
        population: of(monotony.population),
    }
}
