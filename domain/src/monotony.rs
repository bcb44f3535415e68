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
use crate::exact::{Fraction, Root};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
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

type Week = [Bounds<Load>; ACUTE_DAYS];

/// The evenness `S^2 / Q` of a week, from 1 (a single session) to 7 (all days equal), with bounds.
fn evenness_of(week: &Week) -> Figure<Fraction> {
    let logged = Sums::of(week.iter().map(|day| day.point));
    let point = logged.evenness().filter(|_| !logged.all_equal());
    let reason = match logged.evenness() {
        None => Some(Reason::NoLoad),
        Some(_) if logged.all_equal() => Some(Reason::NoVariation),
        Some(_) => None,
    };
    if week.iter().all(|day| day.low == day.high) {
        return Figure {
            low: point,
            point,
            high: point,
            reason,
        };
    }
    let high = if may_be_equal(week) {
        None
    } else {
        highest(week)
    };
    let open = if high.is_none() {
        Some(Reason::NoVariationPossible)
    } else {
        None
    };
    Figure {
        low: lowest(week),
        point,
        high,
        reason: reason.or(open),
    }
}

/// Sum and sum of squares of the seven days, in half-AU.
#[derive(Clone, Copy, Default)]
struct Sums {
    sum: i64,
    squares: i64,
}

impl Sums {
    fn of(loads: impl Iterator<Item = Load>) -> Sums {
        loads.fold(Sums::default(), Sums::plus)
    }

    fn plus(self, load: Load) -> Sums {
        let load = load.half_au();
        Sums {
            sum: self.sum + load,
            squares: self.squares + load * load,
        }
    }

    fn evenness(self) -> Option<Fraction> {
        Fraction::new(self.sum * self.sum, self.squares)
    }

    fn all_equal(self) -> bool {
        7 * self.squares == self.sum * self.sum
    }
}

/// Whether some positive load lies within the bounds of every day.
fn may_be_equal(week: &Week) -> bool {
    let least = week.iter().map(|day| day.low).max();
    let most = week.iter().map(|day| day.high).min();
    least <= most && most > Some(Load::ZERO)
}

/// The least evenness. `S / sqrt(Q)` is the cosine of the angle to the week of equal days, so it
/// is least at a corner of the box of bounds. Where all days may be zero, that corner has no
/// evenness and the least of the others is 1, a single session.
fn lowest(week: &Week) -> Option<Fraction> {
    if week.iter().all(|day| day.low == Load::ZERO) {
        return Some(Fraction::whole(1));
    }
    let (known, open): (Vec<&Bounds<Load>>, Vec<&Bounds<Load>>) =
        week.iter().partition(|day| day.low == day.high);
    let known = Sums::of(known.iter().map(|day| day.point));
    let corners = (0..1_u32 << open.len()).map(|corner| {
        let ends = open.iter().enumerate();
        let ends = ends.map(|(at, day)| {
            if corner >> at & 1 == 1 {
                day.high
            } else {
                day.low
            }
        });
        ends.fold(known, Sums::plus)
    });
    corners.filter_map(Sums::evenness).min()
}

/// The highest evenness of a week whose days cannot all be equal.
///
/// At the maximum every open day equals `clamp(t, low, high)` for one `t = Q / S`. Between two
/// neighbouring bounds the same k days move with t, and the maximum there is at `t = Q0 / S0` of
/// the days that do not, with evenness `S0^2 / Q0 + k`; otherwise it is at one of the bounds.
fn highest(week: &Week) -> Option<Fraction> {
    let mut ends: Vec<Load> = week.iter().flat_map(|day| [day.low, day.high]).collect();
    ends.sort_unstable();
    ends.dedup();
    let at_ends = ends
        .iter()
        .filter_map(|t| Sums::of(week.iter().map(|day| (*t).clamp(day.low, day.high))).evenness());
    let between = ends
        .windows(2)
        .filter_map(|gap| highest_between(week, gap[0], gap[1]));
    at_ends.chain(between).max()
}

fn highest_between(week: &Week, from: Load, to: Load) -> Option<Fraction> {
    let moves = |day: &&Bounds<Load>| day.low <= from && day.high >= to;
    let moving = i64::try_from(week.iter().filter(moves).count()).ok()?;
    let still = week.iter().filter(|day| !moves(day));
    let Sums { sum, squares } = Sums::of(still.map(|day| from.clamp(day.low, day.high)));
    let inside = from.half_au() * sum <= squares && squares <= to.half_au() * sum;
    if inside {
        Fraction::new(sum * sum + moving * squares, squares)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::day_state::DayFacts;
    use crate::exact::Places;

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
