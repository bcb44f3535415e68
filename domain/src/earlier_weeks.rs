//! The ISO weeks before a week, for comparisons with an athlete's own past.

use crate::day::DayTotal;
use crate::day_state::Absence;
use crate::reason::Reason;
use crate::series::{DailySeries, days_between};
use crate::week::IsoWeek;
use crate::window::ACUTE_DAYS;

/// How many weeks back a comparison may look.
pub(crate) const REACH: i64 = 26;

/// One earlier week.
pub(crate) struct EarlierWeek<'a> {
    pub(crate) weeks_back: i64,
    pub(crate) days: &'a [DayTotal],
}

impl EarlierWeek<'_> {
    /// No day of the week lies within an absence, whatever was reported on it.
    pub(crate) fn without_absence(&self) -> bool {
        self.days.iter().all(|day| day.absence() == Absence::None)
    }
}

/// The `wanted` most recent weeks that `fits` takes, out of the `reach` before `week`, the latest
/// first. Weeks that begin before the first membership date are never among them.
///
/// # Errors
/// [`Reason::NotRead`] if the series ends before enough were found although the membership
/// reaches further back.
pub(crate) fn earlier_weeks<'a>(
    series: &'a DailySeries,
    week: IsoWeek,
    wanted: usize,
    reach: i64,
    fits: impl Fn(&EarlierWeek<'a>) -> bool,
) -> Result<Vec<EarlierWeek<'a>>, Reason> {
    let monday = days_between(series.first(), week.monday());
    let membership = days_between(series.first(), series.member_since());
    let mut found = Vec::with_capacity(wanted);
    for weeks_back in 1..=reach {
        let start = monday - 7 * weeks_back;
        if start < membership || found.len() == wanted {
            break;
        }
        let start = usize::try_from(start).map_err(|_| Reason::NotRead)?;
        let days = series
            .days()
            .get(start..start + ACUTE_DAYS)
            .ok_or(Reason::NotRead)?;
        let earlier = EarlierWeek { weeks_back, days };
        if fits(&earlier) {
            found.push(earlier);
        }
    }
    Ok(found)
}
