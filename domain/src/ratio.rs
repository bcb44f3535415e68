//! The ratio of the last week to the weeks before it, coupled and uncoupled.
//!
//! With acute load A (7 days) and prior load P (the 21 days before):
//! coupled `r = A / ((A + P) / 4) = 4A / (A + P)`, never above 4; uncoupled `u = A / (P / 3) =
//! 3A / P`. They are two faces of one quantity, `r = 4u / (u + 3)`, so always say which is meant.
//! Sources on coupling: Lolli L, et al. (2019) Br J Sports Med 53(15):921-922; Windt J, Gabbett TJ
//! (2019) Br J Sports Med 53(16):988-990.
//!
//! A ratio compares one week with the weeks before it and predicts nothing: a cluster-randomised
//! trial in 34 elite youth teams found no benefit from planning by it (Dalen-Lorentsen T, et al.
//! 2021, Br J Sports Med 55(2):108-114).

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::day::DayTotal;
use crate::day_state::Absence;
use crate::exact::{Decimal, Fraction};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::window::{self, CHRONIC_DAYS};

coded_enum! {
    /// Whether the week itself is part of what it is compared with.
    RatioKind {
        /// 4A / (A + P).
        Coupled = "coupled",
        /// 3A / P.
        Uncoupled = "uncoupled",
    }
}

/// The ratio from its two sums; no unit.
///
/// The coupled ratio rises with every load of the last 7 days and falls with every load of the 21
/// before, so its bounds pair the low end of one with the high end of the other, and both are
/// attained. Missing, first reason that applies: [`Reason::NoLoadInWindow`] (A = P = 0),
/// [`Reason::NoPriorLoad`] (uncoupled, P = 0), [`Reason::BelowChronicFloor`] (P / 3 strictly below
/// the floor at the low end of P, for both kinds).
///
/// ```
/// use plimsoll_domain::{Bounds, Load, Places, RatioKind, ratio::ratio};
/// let (acute, prior) = (Bounds::exact(Load::from_au(2810)), Bounds::exact(Load::from_au(5285)));
/// let of = |kind| ratio(kind, acute, prior, Load::from_au(250)).point.unwrap();
/// assert_eq!(of(RatioKind::Coupled).round(Places::Four).to_string(), "1.3885");
/// assert_eq!(of(RatioKind::Uncoupled).round(Places::Four).to_string(), "1.5951");
/// ```
#[must_use]
pub fn ratio(
    kind: RatioKind,
    acute: Bounds<Load>,
    prior: Bounds<Load>,
    chronic_floor: Load,
) -> Figure<Fraction> {
    let of = |acute: Load, prior: Load| match kind {
        RatioKind::Coupled => coupled(acute, prior),
        RatioKind::Uncoupled => uncoupled(acute, prior),
    };
    let reason = missing(kind, acute.point, prior.point);
    if prior.low.half_au() < 3 * chronic_floor.half_au() {
        return Figure::none(reason.unwrap_or(Reason::BelowChronicFloor));
    }
    let high = of(acute.high, prior.low);
    Figure {
        low: of(acute.low, prior.high),
        point: of(acute.point, prior.point),
        high,
        reason: reason.or(if high.is_none() {
            missing(kind, acute.high, prior.low)
        } else {
            None
        }),
    }
}

/// The share of the prior load that just meets a limit T on the ratio, in lowest terms, no unit: `T /
/// (4 - T)` coupled, `T / 3` uncoupled. `None` for a coupled limit of 4 or more, which no load can
/// meet.
pub(crate) fn limit_share(kind: RatioKind, limit: Decimal) -> Option<Fraction> {
    let limit = limit.to_fraction();
    let (num, den) = (limit.numerator(), limit.denominator());
    let divisor = match kind {
        RatioKind::Coupled => 4 * den - num,
        RatioKind::Uncoupled => 3 * den,
    };
    Fraction::new(num, divisor).map(Fraction::reduced)
}

/// The acute load that would just meet a limit T on the ratio, AU: `T P / (4 - T)` coupled, `T P /
/// 3` uncoupled. `None` for a coupled limit of 4 or more, which no load can meet.
#[must_use]
pub fn limit_au(kind: RatioKind, limit: Decimal, prior: Load) -> Option<Fraction> {
    limit_share(kind, limit).map(|share| share.of(prior))
}

fn coupled(acute: Load, prior: Load) -> Option<Fraction> {
    Fraction::new(4 * acute.half_au(), acute.half_au() + prior.half_au())
}

fn uncoupled(acute: Load, prior: Load) -> Option<Fraction> {
    Fraction::new(3 * acute.half_au(), prior.half_au())
}

fn missing(kind: RatioKind, acute: Load, prior: Load) -> Option<Reason> {
    if acute + prior == Load::ZERO {
        Some(Reason::NoLoadInWindow)
    } else if prior == Load::ZERO && kind == RatioKind::Uncoupled {
        Some(Reason::NoPriorLoad)
    } else {
        None
    }
}

/// The ratio at a date, with the rules about history of [`sums_at`].
#[must_use]
pub fn ratio_at(
    series: &DailySeries,
    date: Date,
    kind: RatioKind,
    chronic_floor: Load,
) -> Figure<Fraction> {
    match sums_at(series, date) {
        Ok((acute, prior)) => ratio(kind, acute, prior, chronic_floor),
        Err(reason) => Figure::none(reason),
    }
}

/// The acute and the prior load at a date that has a ratio.
///
/// # Errors
/// [`Reason::FewerThan28Days`] before the 28th membership date, [`Reason::NotRead`] where the series
/// does not hold the 28 days, [`Reason::AbsenceInWindow`] while they contain a day of an absence of
/// 14 days or more (after four empty weeks the coupled ratio is 4 whatever is done).
pub fn sums_at(series: &DailySeries, date: Date) -> Result<(Bounds<Load>, Bounds<Load>), Reason> {
    let days = series.window(date, CHRONIC_DAYS, Reason::FewerThan28Days)?;
    if days.iter().any(|day| day.absence() == Absence::Long) {
        return Err(Reason::AbsenceInWindow);
    }
    let (prior, acute): (&[DayTotal], &[DayTotal]) = days.split_at(window::PRIOR_DAYS);
    Ok((window::total(acute), window::total(prior)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(low: u16, point: u16, high: u16) -> Bounds<Load> {
        Bounds { low, point, high }.map(Load::from_au)
    }

    fn of(num: i64, den: i64) -> Option<Fraction> {
        Fraction::new(num, den)
    }

    #[test]
    fn bounds_pair_opposite_ends() {
        let (acute, prior) = (bounds(100, 200, 300), bounds(900, 1000, 1100));
        let coupled = ratio(RatioKind::Coupled, acute, prior, Load::ZERO);
        assert_eq!(coupled.low, of(4 * 100, 1200));
        assert_eq!(coupled.point, of(4 * 200, 1200));
        assert_eq!(coupled.high, of(4 * 300, 1200));
        let uncoupled = ratio(RatioKind::Uncoupled, acute, prior, Load::ZERO);
        assert_eq!(uncoupled.low, of(3 * 100, 1100));
        assert_eq!(uncoupled.high, of(3 * 300, 900));
    }

    #[test]
    fn the_floor_is_strict_and_looks_at_the_low_end() {
        let floor = Load::from_au(250);
        let at = |low| {
            ratio(
                RatioKind::Coupled,
                bounds(1, 1, 1),
                bounds(low, 900, 900),
                floor,
            )
        };
        assert!(at(750).point.is_some());
        assert_eq!(at(749), Figure::none(Reason::BelowChronicFloor));
    }

    #[test]
    fn without_a_floor_an_end_may_still_be_open() {
        let (acute, prior) = (bounds(0, 100, 100), bounds(0, 0, 900));
        let uncoupled = ratio(RatioKind::Uncoupled, acute, prior, Load::ZERO);
        assert_eq!(uncoupled.low, of(0, 1));
        assert_eq!((uncoupled.point, uncoupled.high), (None, None));
        assert_eq!(uncoupled.reason, Some(Reason::NoPriorLoad));
        let known_prior = ratio(RatioKind::Uncoupled, acute, bounds(0, 300, 900), Load::ZERO);
        assert_eq!((known_prior.point, known_prior.high), (of(1, 1), None));
        assert_eq!(known_prior.reason, Some(Reason::NoPriorLoad));
        let coupled = ratio(RatioKind::Coupled, acute, prior, Load::ZERO);
        assert_eq!((coupled.point, coupled.high), (of(4, 1), of(4, 1)));
    }
}
