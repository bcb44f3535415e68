//! Exponentially weighted means of the daily load.
//!
//! `e(t) = k L(t) + (1 - k) e(t-1)` with `k = 2 / (N + 1)`, N = 7 (short) and N = 28 (long), in AU
//! a day. L(1), the load of the first membership day, is the first update; the seed e(0) is named.
//! No value before the 28th membership date. Given as logged, without bounds, and as floats: the
//! weights never come to an end, so an exact form would grow with the history.
//!
//! Source: Williams S, et al. (2017) Br J Sports Med 51(3):209-210; on the seed, Wang C, et al.
//! (2020) Sports Med 50(7):1243-1254.

use crate::coded::coded_enum;
use crate::day::DayTotal;
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::window::CHRONIC_DAYS;

coded_enum! {
    /// What e(0) is.
    Seed {
        /// The load of the first membership day.
        FirstDay = "first_day",
        /// Zero.
        Zero = "zero",
        /// The mean load of the first seven membership days.
        FirstWeekMean = "first_week_mean",
    }
}

/// The two means of one date and their ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ewma {
    /// The short mean (N = 7), AU a day.
    pub acute: Option<f64>,
    /// The long mean (N = 28), AU a day.
    pub chronic: Option<f64>,
    /// Short over long.
    pub ratio: Option<f64>,
    /// The seed used.
    pub seed: Seed,
    /// Why something above is missing.
    pub reason: Option<Reason>,
}

impl Ewma {
    pub(crate) const fn none(seed: Seed, reason: Reason) -> Ewma {
        Ewma {
            acute: None,
            chronic: None,
            ratio: None,
            seed,
            reason: Some(reason),
        }
    }
}

/// The means of every date of the series, one for each day from [`DailySeries::first`].
///
/// They need every load since the first membership date: a series that begins later gives
/// [`Reason::NotRead`] throughout.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, Load, Seed, ewma::ewma};
/// let series = DailySeries::of_loads(date(2026, 9, 7), &[Load::from_au(300); 28]).unwrap();
/// let last = ewma(&series, Seed::FirstDay)[27];
/// assert!((last.ratio.unwrap() - 1.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn ewma(series: &DailySeries, seed: Seed) -> Vec<Ewma> {
    let mut pass = EwmaPass::new(series, seed);
    let before = series.days().len() - series.member_days().len();
    let none = std::iter::repeat_n(Ewma::none(seed, Reason::FewerThan28Days), before);
    none.chain(series.member_days().iter().map(|day| pass.step(day)))
        .collect()
}

/// One exponentially weighted mean, updated value by value.
///
/// ```
/// use plimsoll_domain::ewma::ExponentialMean;
/// let mut mean = ExponentialMean::over_days(7, 300.0);
/// assert_eq!(mean.update(700.0), 400.0);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExponentialMean {
    weight: f64,
    value: f64,
}

impl ExponentialMean {
    /// With `k = 2 / (days + 1)`, before any update.
    #[must_use]
    pub fn over_days(days: u32, seed: f64) -> ExponentialMean {
        ExponentialMean::with_weight(2.0 / (f64::from(days) + 1.0), seed)
    }

    /// With a given weight of the newest value, before any update.
    #[must_use]
    pub const fn with_weight(weight: f64, seed: f64) -> ExponentialMean {
        ExponentialMean {
            weight,
            value: seed,
        }
    }

    /// Takes the next value and gives the mean.
    pub fn update(&mut self, value: f64) -> f64 {
        self.value += self.weight * (value - self.value);
        self.value
    }
}

/// Both means running along the membership days of a series.
pub(crate) struct EwmaPass {
    acute: ExponentialMean,
    chronic: ExponentialMean,
    seed: Seed,
    updates: usize,
    whole: bool,
}

impl EwmaPass {
    pub(crate) fn new(series: &DailySeries, seed: Seed) -> EwmaPass {
        let start = seed_value(seed, series.member_days());
        EwmaPass {
            acute: ExponentialMean::over_days(7, start),
            chronic: ExponentialMean::over_days(28, start),
            seed,
            updates: 0,
            whole: series.holds_whole_membership(),
        }
    }

    /// Takes the next membership day and gives the means of its date.
    pub(crate) fn step(&mut self, day: &DayTotal) -> Ewma {
        if !self.whole {
            return Ewma::none(self.seed, Reason::NotRead);
        }
        let load = day.load().point.to_au();
        let (acute, chronic) = (self.acute.update(load), self.chronic.update(load));
        self.updates += 1;
        if self.updates < CHRONIC_DAYS {
            return Ewma::none(self.seed, Reason::FewerThan28Days);
        }
        let exists = chronic > 0.0;
        Ewma {
            acute: Some(acute),
            chronic: Some(chronic),
            ratio: exists.then(|| acute / chronic),
            seed: self.seed,
            reason: if exists { None } else { Some(Reason::NoLoad) },
        }
    }
}

fn seed_value(seed: Seed, member_days: &[DayTotal]) -> f64 {
    let mean_of_first = |days: usize| {
        let loads = member_days
            .iter()
            .take(days)
            .map(|day| day.load().point.to_au());
        loads.sum::<f64>() / days as f64
    };
    match seed {
        Seed::FirstDay => mean_of_first(1),
        Seed::Zero => 0.0,
        Seed::FirstWeekMean => mean_of_first(7),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::load::Load;

    fn series(loads: &[u16]) -> DailySeries {
        let loads: Vec<Load> = loads.iter().copied().map(Load::from_au).collect();
        DailySeries::of_loads(date(2026, 9, 7), &loads).unwrap()
    }

    #[test]
    fn begins_on_the_28th_membership_date() {
        let means = ewma(&series(&[300; 30]), Seed::FirstDay);
        assert!(
            means[..27]
                .iter()
                .all(|mean| mean.reason == Some(Reason::FewerThan28Days))
        );
        assert!(means[27].ratio.is_some());
        let member_later = DailySeries::new(
            date(2026, 9, 9),
            date(2026, 9, 7),
            [
                &[DayTotal::before_membership(); 2][..],
                &[DayTotal::logged(Load::from_au(300)).unwrap(); 28],
            ]
            .concat(),
        );
        let means = ewma(&member_later.unwrap(), Seed::FirstDay);
        assert!(means[28].ratio.is_none() && means[29].ratio.is_some());
    }

    #[test]
    fn a_slice_has_no_means() {
        let days = vec![DayTotal::assumed_rest(); 40];
        let slice = DailySeries::new(date(2026, 9, 1), date(2026, 9, 7), days).unwrap();
        let means = ewma(&slice, Seed::Zero);
        assert!(
            means
                .iter()
                .all(|mean| *mean == Ewma::none(Seed::Zero, Reason::NotRead))
        );
    }

    #[test]
    fn of_no_load_there_is_no_ratio() {
        let last = ewma(&series(&[0; 28]), Seed::FirstDay)[27];
        assert_eq!(
            (last.acute, last.chronic, last.ratio),
            (Some(0.0), Some(0.0), None)
        );
        assert_eq!(last.reason, Some(Reason::NoLoad));
    }
}
