//! The athlete's own highest week.
//!
//! The highest load of the most recent earlier ISO weeks (eight by default) within the last 26,
//! leaving out weeks with an absence and weeks before membership; in AU. Useful where the chronic
//! load is high and the ratio cannot show a rise. Common practice, no source.

use crate::change::{Change, change};
use crate::earlier_weeks::{EarlierWeek, REACH, earlier_weeks};
use crate::figure::Bounds;
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

impl OwnHighest {
    /// The change of a week's load from this one, in AU and in per cent.
    ///
    /// ```
    /// use plimsoll_domain::{Bounds, IsoWeek, Load, OwnHighest, Places};
    /// let week: IsoWeek = "2026-W41".parse().unwrap();
    /// let highest = OwnHighest { load: Load::from_au(2320), week, weeks_used: 8 };
    /// let change = highest.change(Bounds::exact(Load::from_au(2700)));
    /// assert_eq!(change.pct.point.unwrap().round(Places::Two).to_string(), "16.38");
    /// ```
    #[must_use]
    pub fn change(&self, week_load: Bounds<Load>) -> Change {
        change(week_load, Bounds::exact(self.load))
    }
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
        REACH,
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

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::day::DayTotal;
    use crate::day_state::{Absence, DayFacts};

    const FIRST: Date = date(2026, 3, 2);

    fn week_of(au: u16) -> Vec<DayTotal> {
        let mut days = vec![DayTotal::assumed_rest(); 7];
        days[0] = DayTotal::logged(Load::from_au(au)).unwrap();
        days
    }

    fn absent_week() -> Vec<DayTotal> {
        let mut days = week_of(9000);
        let facts = DayFacts {
            absence: Absence::Short,
            ..DayFacts::default()
        };
        days[3] = DayTotal::new(facts, Bounds::default(), 0).unwrap();
        days
    }

    fn before_last(weeks: &[Vec<DayTotal>]) -> Result<OwnHighest, Reason> {
        let series = DailySeries::new(FIRST, FIRST, weeks.concat()).unwrap();
        own_highest(&series, IsoWeek::of(series.last()).unwrap(), WEEKS)
    }

    #[test]
    fn needs_four_earlier_weeks() {
        let loads = [900, 800, 700, 600];
        let weeks = |count: usize| {
            let earlier = loads[..count].iter().map(|load| week_of(*load));
            earlier.chain([week_of(1)]).collect::<Vec<_>>()
        };
        assert_eq!(before_last(&weeks(3)), Err(Reason::FewerThan4Weeks));
        let highest = before_last(&weeks(4)).unwrap();
        assert_eq!((highest.load, highest.weeks_used), (Load::from_au(900), 4));
        assert_eq!(highest.week, IsoWeek::of(FIRST).unwrap());
    }

    #[test]
    fn takes_the_eight_latest_and_skips_absences() {
        let mut weeks = vec![week_of(5000)];
        weeks.extend((1..=8).map(|week| week_of(100 * week)));
        weeks.insert(5, absent_week());
        weeks.push(week_of(1));
        let highest = before_last(&weeks).unwrap();
        assert_eq!((highest.load, highest.weeks_used), (Load::from_au(800), 8));
    }

    #[test]
    fn looks_back_26_weeks_and_no_further() {
        let mut weeks: Vec<_> = (0..4).map(|_| week_of(700)).collect();
        weeks.extend((0..23).map(|_| absent_week()));
        weeks.push(week_of(1));
        assert_eq!(before_last(&weeks), Err(Reason::FewerThan4Weeks));
        weeks.remove(10);
        assert_eq!(before_last(&weeks).map(|highest| highest.weeks_used), Ok(4));
    }

    #[test]
    fn a_week_that_membership_began_in_does_not_count() {
        let since = date(2026, 3, 3);
        let mut days = vec![DayTotal::before_membership()];
        days.extend(week_of(900).split_off(1));
        days.extend([700, 600, 500, 1].map(week_of).concat());
        let series = DailySeries::new(since, FIRST, days).unwrap();
        let week = IsoWeek::of(series.last()).unwrap();
        assert_eq!(
            own_highest(&series, week, WEEKS),
            Err(Reason::FewerThan4Weeks)
        );
    }

    #[test]
    fn a_slice_too_short_to_tell_says_so() {
        let weeks = (0..9).map(|_| week_of(700)).collect::<Vec<_>>().concat();
        let of = |days: Vec<DayTotal>| {
            let slice = DailySeries::new(date(2025, 1, 6), FIRST, days).unwrap();
            own_highest(&slice, IsoWeek::of(slice.last()).unwrap(), WEEKS)
        };
        assert_eq!(of(weeks[7..].to_vec()), Err(Reason::NotRead));
        assert_eq!(of(weeks).map(|highest| highest.weeks_used), Ok(8));
    }

    #[test]
    fn unlogged_sessions_count_with_their_upper_bound() {
        let facts = DayFacts {
            expected: 1,
            unlogged: 1,
            ..DayFacts::default()
        };
        let open = Bounds {
            high: Load::from_au(900),
            ..Bounds::default()
        };
        let mut weeks: Vec<_> = (0..5).map(|_| week_of(700)).collect();
        weeks[2][4] = DayTotal::new(facts, open, 0).unwrap();
        assert_eq!(before_last(&weeks).unwrap().load, Load::from_au(1600));
    }
}
