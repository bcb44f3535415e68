//! ISO 8601 weeks, Monday to Sunday.

use std::fmt;
use std::str::FromStr;

use jiff::ToSpan;
use jiff::civil::{Date, ISOWeekDate, Weekday};

/// An ISO week of the years 1 to 9998: `2026-W45`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct IsoWeek {
    monday: Date,
}

/// Why a text or a date is not a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an ISO week is written YYYY-Www, as in 2026-W45, and exists in that year")]
pub struct WeekError;

impl IsoWeek {
    const YEARS: std::ops::RangeInclusive<i16> = 1..=9998;

    /// The week with this ISO year and number.
    ///
    /// # Errors
    /// [`WeekError`] where the year has no such week.
    pub fn new(year: i16, week: i8) -> Result<IsoWeek, WeekError> {
        let monday = ISOWeekDate::new(year, week, Weekday::Monday).map_err(|_| WeekError)?;
        Self::starting(monday.date())
    }

    /// The week that holds a date; the turn of the year goes by ISO 8601 (2027-01-01 is in
    /// 2026-W53).
    ///
    /// # Errors
    /// [`WeekError`] outside the years 1 to 9998.
    pub fn of(date: Date) -> Result<IsoWeek, WeekError> {
        let since_monday = i64::from(date.weekday().to_monday_zero_offset());
        Self::starting(
            date.checked_sub(since_monday.days())
                .map_err(|_| WeekError)?,
        )
    }

    fn starting(monday: Date) -> Result<IsoWeek, WeekError> {
        if Self::YEARS.contains(&monday.iso_week_date().year()) {
            Ok(IsoWeek { monday })
        } else {
            Err(WeekError)
        }
    }

    /// The ISO year.
    #[must_use]
    pub fn year(self) -> i16 {
        self.monday.iso_week_date().year()
    }

    /// The number within the year, 1 to 53.
    #[must_use]
    pub fn number(self) -> i8 {
        self.monday.iso_week_date().week()
    }

    /// The first day.
    #[must_use]
    pub const fn monday(self) -> Date {
        self.monday
    }

    /// The last day.
    #[must_use]
    pub fn sunday(self) -> Date {
        self.monday.saturating_add(6.days())
    }

    /// Its seven days, Monday first.
    pub fn days(self) -> impl Iterator<Item = Date> {
        self.monday.series(1.day()).take(7)
    }

    /// The week so many weeks later, or earlier if negative; `None` outside the years 1 to 9998.
    #[must_use]
    pub fn plus(self, weeks: i32) -> Option<IsoWeek> {
        let days = 7 * i64::from(weeks);
        let monday = self
            .monday
            .checked_add(jiff::Span::new().try_days(days).ok()?)
            .ok()?;
        Self::starting(monday).ok()
    }

    /// The week after; `None` after the year 9998.
    #[must_use]
    pub fn next(self) -> Option<IsoWeek> {
        self.plus(1)
    }

    /// The week before; `None` before the year 1.
    #[must_use]
    pub fn previous(self) -> Option<IsoWeek> {
        self.plus(-1)
    }

    /// The weeks from this one to `last`, both included; none if `last` is earlier.
    pub fn through(self, last: IsoWeek) -> impl Iterator<Item = IsoWeek> {
        std::iter::successors(Some(self), |week| week.next()).take_while(move |week| *week <= last)
    }
}

impl fmt::Display for IsoWeek {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-W{:02}", self.year(), self.number())
    }
}

impl FromStr for IsoWeek {
    type Err = WeekError;

    fn from_str(text: &str) -> Result<IsoWeek, WeekError> {
        let (year, week) = text.split_once("-W").ok_or(WeekError)?;
        let number = |part: &str, digits: usize| {
            let plain = part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
            part.parse::<i16>().ok().filter(|_| plain).ok_or(WeekError)
        };
        let (year, week) = (number(year, 4)?, number(week, 2)?);
        IsoWeek::new(year, i8::try_from(week).map_err(|_| WeekError)?)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn week(text: &str) -> IsoWeek {
        text.parse().unwrap()
    }

    #[test]
    fn the_turn_of_the_year_goes_by_iso_8601() {
        for (date, text) in [
            (date(2026, 12, 31), "2026-W53"),
            (date(2027, 1, 3), "2026-W53"),
            (date(2027, 1, 4), "2027-W01"),
            (date(2024, 12, 30), "2025-W01"),
            (date(2021, 1, 3), "2020-W53"),
        ] {
            assert_eq!(IsoWeek::of(date).unwrap().to_string(), text);
            assert_eq!(IsoWeek::of(date).unwrap(), week(text));
        }
        assert_eq!(week("2026-W53").monday(), date(2026, 12, 28));
        assert_eq!(week("2026-W53").sunday(), date(2027, 1, 3));
        let days: Vec<Date> = week("2026-W53").days().collect();
        assert_eq!((days.len(), days[0]), (7, date(2026, 12, 28)));
        assert_eq!(days[6], date(2027, 1, 3));
    }

    #[test]
    fn steps_over_week_53() {
        assert_eq!(week("2026-W53").next(), Some(week("2027-W01")));
        assert_eq!(week("2027-W01").previous(), Some(week("2026-W53")));
        assert_eq!(
            week("2026-W45").plus(-60).map(|week| week.to_string()),
            Some("2025-W37".into())
        );
        let through: Vec<String> = week("2026-W52")
            .through(week("2027-W02"))
            .map(|week| week.to_string())
            .collect();
        assert_eq!(through, ["2026-W52", "2026-W53", "2027-W01", "2027-W02"]);
        assert_eq!(week("2026-W10").through(week("2026-W09")).count(), 0);
    }

    #[test]
    fn refuses_weeks_that_do_not_exist() {
        for text in [
            "2025-W53", "2026-W54", "2026-W00", "2026W45", "2026-w45", "2026-W5", "26-W05",
            "+026-W45", "",
        ] {
            assert_eq!(text.parse::<IsoWeek>(), Err(WeekError), "{text}");
        }
        assert_eq!(IsoWeek::new(0, 1), Err(WeekError));
        assert_eq!(IsoWeek::new(9999, 1), Err(WeekError));
        assert_eq!(IsoWeek::new(9998, 53).unwrap().next(), None);
        assert_eq!(IsoWeek::new(1, 1).unwrap().previous(), None);
    }
}
