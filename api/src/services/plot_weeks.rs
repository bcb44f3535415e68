//! The weeks of a small plot: an athlete's load week by week, up to the one a list is about.

use jiff::civil::Date;
use plimsoll_domain::{Bounds, DailySeries, DayState, IsoWeek, Load};

/// Weeks shown before the one the list is about.
const EARLIER: i32 = 9;

/// One week of a plot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlotWeek {
    /// The week.
    pub week: IsoWeek,
    /// Its load; of its membership days, where it was joined in.
    pub load: Bounds<Load>,
    /// Expected sessions left open.
    pub unlogged: u32,
    /// Days of absence in it.
    pub absent_days: u32,
}

impl PlotWeek {
    /// Whether it is a week of absence from end to end.
    pub fn is_absence(&self) -> bool {
        self.absent_days == 7
    }
}

/// The last ten weeks of a series up to `last`, oldest first. Weeks before membership are left out:
/// they are not weeks without load.
pub fn plot_weeks(series: &DailySeries, last: IsoWeek) -> Vec<PlotWeek> {
    let first = last.plus(-EARLIER).unwrap_or(last);
    let member = series.member_since().max(series.first());
    let weeks = first.through(last).filter(|week| week.sunday() >= member);
    weeks.map(|week| of_week(series, week)).collect()
}

fn of_week(series: &DailySeries, week: IsoWeek) -> PlotWeek {
    let dates = week.monday().series(jiff::Span::new().days(1)).take(7);
    let days = dates.filter_map(|date: Date| series.day(date));
    days.fold(
        PlotWeek {
            week,
            load: Bounds::default(),
            unlogged: 0,
            absent_days: 0,
        },
        |sum, day| PlotWeek {
            load: sum.load + day.load(),
            unlogged: sum.unlogged + day.unlogged(),
            absent_days: sum.absent_days + u32::from(day.state() == DayState::Absence),
            ..sum
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(first: &str, loads: &[u32]) -> DailySeries {
        let loads: Vec<Load> = loads
            .iter()
            .map(|au| Load::from_half_au(i64::from(2 * au)).unwrap())
            .collect();
        DailySeries::of_loads(first.parse().unwrap(), &loads).unwrap()
    }

    #[test]
    fn ten_weeks_at_most_oldest_first() {
        let last: IsoWeek = "2026-W45".parse().unwrap();
        let days = series("2026-07-20", &[10; 112]);
        let weeks = plot_weeks(&days, last);
        assert_eq!(weeks.len(), 10);
        assert_eq!(weeks[0].week.to_string(), "2026-W36");
        assert_eq!(weeks[9].week, last);
        assert!(weeks.iter().all(|week| week.load.point.to_au() == 70.0));
    }

    #[test]
    fn weeks_before_membership_are_no_weeks_of_nothing() {
        let last: IsoWeek = "2026-W45".parse().unwrap();
        let days = series("2026-10-31", &[10; 9]);
        let weeks = plot_weeks(&days, last);
        let loads: Vec<f64> = weeks.iter().map(|week| week.load.point.to_au()).collect();
        assert_eq!(loads, [20.0, 70.0]);
    }
}
