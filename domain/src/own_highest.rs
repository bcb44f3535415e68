//! The athlete's own highest week.
//!
//! The highest load of the most recent earlier ISO weeks (eight by default) within the last 26,
//! leaving out weeks with an absence and weeks before membership; in AU. Useful where the chronic
//! load is high and the ratio cannot show a rise. Common practice, no source.

use crate::earlier_weeks::{EarlierWeek, earlier_weeks};
use crate::load::Load;
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::week::IsoWeek;
use crate::window;

/// Weeks compared with by default.
pub const WEEKS: u8 = 8;
/// Fewer weeks than this are no comparison.
pub const LEAST_WEEKS: u8 = 4;

/// The highest of the weeks compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OwnHighest {
    /// Its load; a week with unlogged sessions counts with its upper bound.
    pub load: Load,
    /// Which week it was; the latest of equals.
    pub week: IsoWeek,
    /// How many weeks were compared.
    pub weeks_used: u8,
}

/// The highest of up to `weeks` weeks before `week`.
///
/// # Errors
/// [`Reason::FewerThan4Weeks`], or [`Reason::NotRead`] where the series does not reach back far
/// enough to tell.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, IsoWeek, Load, own_highest::own_highest};
/// let days: Vec<Load> = [2100, 2250, 1980, 2200, 2700].iter()
///     .flat_map(|week| [*week, 0, 0, 0, 0, 0, 0]).map(Load::from_au).collect();
/// let series = DailySeries::of_loads(date(2026, 10, 5), &days).unwrap();
/// let week = IsoWeek::of(series.last()).unwrap();
/// assert_eq!(own_highest(&series, week, 8).unwrap().load, Load::from_au(2250));
/// ```
pub fn own_highest(series: &DailySeries, week: IsoWeek, weeks: u8) -> Result<OwnHighest, Reason> {
    let compared = earlier_weeks(
        series,
        week,
        usize::from(weeks),
        EarlierWeek::without_absence,
    )?;
    let weeks_used = u8::try_from(compared.len()).map_err(|_| Reason::NotRead)?;
    if weeks_used < LEAST_WEEKS {
        return Err(Reason::FewerThan4Weeks);
    }
    let loads = compared
        .iter()
        .map(|week| (window::total(week.days).high, -week.weeks_back));
    let (load, back) = loads.max().ok_or(Reason::FewerThan4Weeks)?;
    let week = i32::try_from(back)
        .ok()
        .and_then(|back| week.plus(back))
        .ok_or(Reason::NotRead)?;
    Ok(OwnHighest {
        load,
        week,
        weeks_used,
    })
}
