//! When a club's week is closed: on a weekday and at an hour of the week after it, local time.
//!
//! Which instant that is depends on the club's zone and is decided where zones are known.

use jiff::ToSpan;
use jiff::civil::{DateTime, time};

use crate::coded::coded_enum;
use crate::week::IsoWeek;

coded_enum! {
    /// A day of the ISO week.
    Weekday {
        /// The first day.
        Monday = "monday",
        /// The second.
        Tuesday = "tuesday",
        /// The third.
        Wednesday = "wednesday",
        /// The fourth.
        Thursday = "thursday",
        /// The fifth.
        Friday = "friday",
        /// The sixth.
        Saturday = "saturday",
        /// The last.
        Sunday = "sunday",
    }
}

impl Weekday {
    const fn days_after_monday(self) -> i64 {
        match self {
            Weekday::Monday => 0,
            Weekday::Tuesday => 1,
            Weekday::Wednesday => 2,
            Weekday::Thursday => 3,
            Weekday::Friday => 4,
            Weekday::Saturday => 5,
            Weekday::Sunday => 6,
        }
    }
}

/// The weekday and the hour at which weeks are closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClosingTime {
    weekday: Weekday,
    hour: i8,
}

impl Default for ClosingTime {
    /// Monday, 07:00.
    fn default() -> Self {
        Self {
            weekday: Weekday::Monday,
            hour: 7,
        }
    }
}

impl ClosingTime {
    /// `None` unless the hour is 0 to 23.
    ///
    /// ```
    /// use plimsoll_domain::{ClosingTime, Weekday};
    /// let monday = ClosingTime::new(Weekday::Monday, 7).unwrap();
    /// let local = monday.after("2026-W53".parse().unwrap());
    /// assert_eq!(local.to_string(), "2027-01-04T07:00:00");
    /// assert_eq!(ClosingTime::new(Weekday::Monday, 24), None);
    /// ```
    #[must_use]
    pub fn new(weekday: Weekday, hour: i64) -> Option<Self> {
        let hour = i8::try_from(hour).ok()?;
        (0..=23).contains(&hour).then_some(Self { weekday, hour })
    }

    /// The weekday.
    #[must_use]
    pub const fn weekday(self) -> Weekday {
        self.weekday
    }

    /// The hour, 0 to 23.
    #[must_use]
    pub const fn hour(self) -> i8 {
        self.hour
    }

    /// The local time at which a week is due: in the week after it.
    #[must_use]
    pub fn after(self, week: IsoWeek) -> DateTime {
        let days = 7 + self.weekday.days_after_monday();
        let date = week.monday().saturating_add(days.days());
        date.to_datetime(time(self.hour, 0, 0, 0))
    }
}
