//! Sums over windows of days: acute load, prior load, chronic weekly load.
//!
//! For a date d the acute load A is the sum of the 7 dates d-6..d and the prior load P the sum of
//! the 21 dates d-27..d-7, both in AU. Dates before the first membership date are never zeros: a
//! sum that touches them does not exist.

use jiff::civil::Date;

use crate::day::DayTotal;
use crate::day_state::{DayState, StateCounts};
use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::load::Load;
use crate::reason::Reason;
use crate::series::DailySeries;

/// Days of the acute load.
pub const ACUTE_DAYS: usize = 7;
/// Days of the prior load.
pub const PRIOR_DAYS: usize = 21;
/// Days of both.
pub const CHRONIC_DAYS: usize = ACUTE_DAYS + PRIOR_DAYS;

/// The load of some days; the ends add.
#[must_use]
pub fn total(days: &[DayTotal]) -> Bounds<Load> {
    days.iter()
        .fold(Bounds::default(), |sum, day| sum + day.load())
}

/// The acute load at a date: the 7 days that end there.
///
/// # Errors
/// [`Reason::FewerThan7Days`] or [`Reason::NotRead`].
pub fn acute(series: &DailySeries, date: Date) -> Result<Bounds<Load>, Reason> {
    series
        .window(date, ACUTE_DAYS, Reason::FewerThan7Days)
        .map(total)
}

/// The prior load at a date: the 21 days before the 7 that end there.
///
/// # Errors
/// [`Reason::FewerThan28Days`] or [`Reason::NotRead`].
pub fn prior(series: &DailySeries, date: Date) -> Result<Bounds<Load>, Reason> {
    let days = series.window(date, CHRONIC_DAYS, Reason::FewerThan28Days)?;
    Ok(total(&days[..PRIOR_DAYS]))
}

/// The chronic load as a weekly mean, in AU, as logged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChronicWeek {
    /// (A + P) / 4: the acute week is part of it.
    pub coupled: Fraction,
    /// P / 3: the acute week is not.
    pub uncoupled: Fraction,
}

impl ChronicWeek {
    /// From the acute and the prior load as logged.
    #[must_use]
    pub const fn of(acute: Load, prior: Load) -> ChronicWeek {
        ChronicWeek {
            coupled: Fraction::over::<{ 2 * 4 }>(acute.half_au() + prior.half_au()),
            uncoupled: Fraction::over::<{ 2 * 3 }>(prior.half_au()),
        }
    }
}

/// How many of the `length` days that end at `date` are in each state. Dates the membership does
/// not reach count as before membership.
///
/// # Errors
/// [`Reason::NotRead`] if the series does not hold all membership dates of the window.
pub fn states(series: &DailySeries, date: Date, length: u8) -> Result<StateCounts, Reason> {
    let history = series.history(date).clamp(0, i64::from(length));
    let held = usize::try_from(history).map_err(|_| Reason::NotRead)?;
    let mut counts = StateCounts::default();
    if held > 0 {
        for day in series.window(date, held, Reason::NotRead)? {
            counts.add(day.state(), 1);
        }
    }
    let before = usize::from(length) - held;
    counts.add(
        DayState::BeforeMembership,
        u8::try_from(before).map_err(|_| Reason::NotRead)?,
    );
    Ok(counts)
}
