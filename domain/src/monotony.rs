//! Monotony: how alike the seven days of a week are.
//!
//! `mean of the 7 daily loads / their standard deviation`, rest days included as zero. With sum S
//! and sum of squares Q of the seven days, the population value is `S / sqrt(7Q - S^2)` and the
//! sample value is that times `sqrt(6/7)`; a single-session week has the least a week can have,
//! `1/sqrt(6)` or `1/sqrt(7)`. No unit.
//!
//! Source: Foster C (1998) Med Sci Sports Exerc 30(7):1164-1168, whose abstract does not say which
//! divisor; both are given and named, the sample value by default.

use crate::day::DayTotal;
use crate::evenness::evenness_of;
use crate::exact::{Fraction, Root};
use crate::figure::Figure;
use crate::moments::Divisor;
use crate::reason::Reason;
use crate::window::ACUTE_DAYS;

/// A figure that depends on the divisor of the standard deviation, with both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ByDivisor<T> {
    /// With n - 1.
    pub sample: T,
    /// With n.
    pub population: T,
}

impl<T> ByDivisor<T> {
    /// The one with this divisor.
    pub fn with(self, divisor: Divisor) -> T {
        match divisor {
            Divisor::Sample => self.sample,
            Divisor::Population => self.population,
        }
    }
}

/// The monotony of seven days.
///
/// Missing: [`Reason::NoLoad`] for seven zeros, [`Reason::NoVariation`] for seven equal positive
/// days. The upper bound alone is missing with [`Reason::NoVariationPossible`] where the unknown
/// days may make all seven equal. Fewer or more than seven days give
/// [`Reason::FewerThan7Days`].
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, Load, Places, monotony::monotony};
/// let loads = [780, 225, 450, 630, 0, 680, 45].map(Load::from_au);
/// let week = DailySeries::of_loads(date(2026, 9, 7), &loads).unwrap();
/// let monotony = monotony(week.days());
/// assert_eq!(monotony.sample.point.unwrap().round(Places::Four).to_string(), "1.2749");
/// assert_eq!(monotony.population.point.unwrap().round(Places::Four).to_string(), "1.3771");
/// ```
#[must_use]
pub fn monotony(days: &[DayTotal]) -> ByDivisor<Figure<Root>> {
    let evenness = match <&[DayTotal; ACUTE_DAYS]>::try_from(days) {
        Ok(week) => evenness_of(&week.map(|day| day.load())),
        Err(_) => Figure::none(Reason::FewerThan7Days),
    };
    let root = |divisor| Figure {
        low: evenness.low.and_then(|low| root_of(low, divisor)),
        point: evenness.point.and_then(|point| root_of(point, divisor)),
        high: evenness.high.and_then(|high| root_of(high, divisor)),
        reason: evenness.reason,
    };
    ByDivisor {
        sample: root(Divisor::Sample),
        population: root(Divisor::Population),
    }
}

/// Monotony from the evenness `R = S^2 / Q` of a week: population `sqrt(R / (7 - R))`. It grows
/// with R, so bounds of R give bounds of monotony. `None` where R = 7, all days equal.
fn root_of(evenness: Fraction, divisor: Divisor) -> Option<Root> {
    let deviation = 7 * evenness.denominator() - evenness.numerator();
    let square = match divisor {
        Divisor::Sample => Fraction::new(6 * evenness.numerator(), 7 * deviation),
        Divisor::Population => Fraction::new(evenness.numerator(), deviation),
    };
    square.map(|square| Root::new(1, square))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::day_state::DayFacts;
    use crate::exact::Places;
    use crate::figure::Bounds;
    use crate::load::Load;

    fn day((low, high): (u16, u16)) -> DayTotal {
        let sessions = u32::from(low > 0);
        let unlogged = u32::from(low != high);
        let expected = sessions + unlogged;
        let facts = DayFacts {
            sessions,
            expected,
            unlogged,
            ..DayFacts::default()
        };
        let (low, high) = (Load::from_au(low), Load::from_au(high));
        DayTotal::new(
            facts,
            Bounds {
                low,
                point: low,
                high,
            },
            0,
        )
        .unwrap()
    }

    fn of(days: [(u16, u16); 7]) -> Figure<Root> {
        monotony(&days.map(day)).population
    }

    fn exactly(loads: [u16; 7]) -> Option<Root> {
        of(loads.map(|load| (load, load))).point
    }

    const REST: (u16, u16) = (0, 0);

    #[test]
    fn the_least_is_at_a_corner() {
        let open = of([
            (540, 540),
            (225, 225),
            (0, 900),
            (600, 600),
            REST,
            (100, 700),
            (300, 300),
        ]);
        let corners = [(0, 100), (0, 700), (900, 100), (900, 700)];
        let corners = corners.map(|(a, b)| exactly([540, 225, a, 600, 0, b, 300]));
        assert_eq!(open.low, corners.into_iter().min().flatten());
        assert_eq!(open.low, exactly([540, 225, 0, 600, 0, 100, 300]));
    }

    #[test]
    fn a_week_that_may_be_empty_has_the_least_of_a_single_session() {
        let open = of([(0, 900), REST, (0, 600), REST, REST, REST, REST]);
        assert_eq!(open.low, exactly([1, 0, 0, 0, 0, 0, 0]));
        assert_eq!((open.point, open.reason), (None, Some(Reason::NoLoad)));
        // At best two equal sessions.
        assert_eq!(open.high, exactly([1, 1, 0, 0, 0, 0, 0]));
    }

    #[test]
    fn the_highest_moves_all_free_days_to_one_load() {
        // Q0 / S0 of the known days: (400^2 + 200^2) / 600 = 333.33, inside both intervals.
        let inside = of([(400, 400), (200, 200), (0, 900), (0, 600), REST, REST, REST]);
        let near = exactly([1200, 600, 1000, 1000, 0, 0, 0]);
        assert_eq!(inside.high, near);
        // A day that cannot reach that load stays at its end, and the others settle again.
        let capped = of([(400, 400), (200, 200), (0, 100), (0, 600), REST, REST, REST]);
        // (400^2 + 200^2 + 100^2) / 700 = 300.
        assert_eq!(capped.high, exactly([400, 200, 100, 300, 0, 0, 0]));
        let raised = of([(400, 400), (200, 200), (500, 900), REST, REST, REST, REST]);
        assert_eq!(raised.high, exactly([400, 200, 500, 0, 0, 0, 0]));
    }

    #[test]
    fn has_no_upper_bound_where_all_days_may_be_equal() {
        let open = of([
            (300, 300),
            (0, 900),
            (300, 300),
            (300, 300),
            (200, 400),
            (0, 300),
            (300, 300),
        ]);
        assert_eq!(
            (open.high, open.reason),
            (None, Some(Reason::NoVariationPossible))
        );
        assert!(open.low.is_some() && open.point.is_some());
        let all_open = of([(0, 900); 7]);
        assert_eq!((all_open.point, all_open.high), (None, None));
        assert_eq!(all_open.reason, Some(Reason::NoLoad));
        let equal_as_logged = of([(300, 400); 7]);
        assert_eq!((equal_as_logged.point, equal_as_logged.high), (None, None));
        assert_eq!(equal_as_logged.reason, Some(Reason::NoVariation));
        assert!(equal_as_logged.low.is_some());
    }

    #[test]
    fn sample_is_population_times_the_root_of_six_sevenths() {
        let both = monotony(&[780, 225, 450, 630, 0, 680, 45].map(|load| day((load, load))));
        let (sample, population) = (both.sample.point.unwrap(), both.population.point.unwrap());
        assert!((population.to_f64() / sample.to_f64() - (7.0_f64 / 6.0).sqrt()).abs() < 1e-15);
        assert_eq!(population.round(Places::Four).to_string(), "1.3771");
        assert_eq!(both.with(Divisor::Population), both.population);
    }

    #[test]
    fn needs_seven_days() {
        for length in [0, 6, 8] {
            let days = vec![day((300, 300)); length];
            assert_eq!(monotony(&days).sample, Figure::none(Reason::FewerThan7Days));
        }
    }
}
