//! The dense series of an athlete's days.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::day::{DayTotal, DayTotalError};
use crate::day_state::DayState;
use crate::limited_span::{ClinicianLimit, LimitedSpan};
use crate::load::Load;
use crate::reason::Reason;

/// One day total for every local date from `first` to `last`, none missing.
///
/// `member_since` is the first membership date: history counts from it, and dates before it are
/// never zeros. A series may begin after it, when only a slice was read; figures that would need
/// the dates between say so instead of taking them for zeros.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DailySeries {
    member_since: Date,
    first: Date,
    last: Date,
    days: Vec<DayTotal>,
    limits: Vec<LimitedSpan>,
}

/// Why days do not make a series.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SeriesError {
    /// There are no days.
    #[error("a series needs at least one day")]
    Empty,
    /// The days reach beyond the calendar.
    #[error("a series must end within the calendar")]
    BeyondCalendar,
    /// A state contradicts the first membership date.
    #[error(
        "{date} must be marked as before membership exactly if it is earlier than the first membership date"
    )]
    Membership {
        /// The first such date.
        date: Date,
    },
    /// A day total is refused.
    #[error(transparent)]
    Day(#[from] DayTotalError),
}

impl DailySeries {
    /// A series from consecutive days beginning at `first`.
    ///
    /// # Errors
    /// [`SeriesError::Empty`], [`SeriesError::BeyondCalendar`], or [`SeriesError::Membership`]
    /// where a day's state and `member_since` disagree.
    pub fn new(member_since: Date, first: Date, days: Vec<DayTotal>) -> Result<Self, SeriesError> {
        let later = i64::try_from(days.len()).map_err(|_| SeriesError::BeyondCalendar)? - 1;
        if later < 0 {
            return Err(SeriesError::Empty);
        }
        let span = jiff::Span::new()
            .try_days(later)
            .map_err(|_| SeriesError::BeyondCalendar)?;
        let last = first
            .checked_add(span)
            .map_err(|_| SeriesError::BeyondCalendar)?;
        let before = usize::try_from(days_between(first, member_since)).unwrap_or(0);
        let contradicts = |at: usize, day: &DayTotal| {
            (day.state() == DayState::BeforeMembership) != (at < before)
        };
        match days
            .iter()
            .enumerate()
            .position(|(at, day)| contradicts(at, day))
        {
            Some(at) => {
                let date = first.saturating_add(i64::try_from(at).unwrap_or(0).days());
                Err(SeriesError::Membership { date })
            }
            None => Ok(DailySeries {
                member_since,
                first,
                last,
                days,
                limits: Vec::new(),
            }),
        }
    }

    /// A member since `first` with every day logged as given: for examples, tests and imports of
    /// plain daily loads.
    ///
    /// # Errors
    /// As [`DailySeries::new`], and [`SeriesError::Day`] for a load no day can hold.
    pub fn of_loads(first: Date, loads: &[Load]) -> Result<Self, SeriesError> {
        let days: Result<Vec<DayTotal>, DayTotalError> =
            loads.iter().copied().map(DayTotal::logged).collect();
        DailySeries::new(first, first, days?)
    }

    /// The same days up to a date, with the same limits; `None` where the date is none of them.
    #[must_use]
    pub fn until(&self, last: Date) -> Option<Self> {
        let length = self.index(last)? + 1;
        let days = self.days[..length].to_vec();
        let cut = DailySeries::new(self.member_since, self.first, days).ok()?;
        Some(cut.with_limits(self.limits.clone()))
    }

    /// The same days with what a clinician limits.
    #[must_use]
    pub fn with_limits(self, limits: Vec<LimitedSpan>) -> Self {
        DailySeries { limits, ..self }
    }

    /// What a clinician limits.
    #[must_use]
    pub fn limits(&self) -> &[LimitedSpan] {
        &self.limits
    }

    /// The lowest load that a clinician allows in seven days that begin and end with these.
    #[must_use]
    pub fn week_limit(&self, from: Date, to: Date) -> Option<Load> {
        let spans = self.limits.iter().filter(|span| span.reaches(from, to));
        let limits = spans.filter_map(|span| match span.limit {
            ClinicianLimit::Week(most) => Some(most),
            ClinicianLimit::UntilCleared => None,
        });
        limits.min()
    }

    /// Whether a written clearance is waited for on one of these days.
    #[must_use]
    pub fn waits_for_clearance(&self, from: Date, to: Date) -> bool {
        let mut spans = self.limits.iter();
        spans.any(|span| span.limit == ClinicianLimit::UntilCleared && span.reaches(from, to))
    }

    /// The first membership date.
    #[must_use]
    pub const fn member_since(&self) -> Date {
        self.member_since
    }

    /// The first date of the series.
    #[must_use]
    pub const fn first(&self) -> Date {
        self.first
    }

    /// The last date of the series.
    #[must_use]
    pub const fn last(&self) -> Date {
        self.last
    }

    /// All days, from the first.
    #[must_use]
    pub fn days(&self) -> &[DayTotal] {
        &self.days
    }

    /// The day at a date, if the series holds it.
    #[must_use]
    pub fn day(&self, date: Date) -> Option<&DayTotal> {
        self.days.get(self.index(date)?)
    }

    /// The number of membership dates up to `date`, both ends included; zero or negative before.
    #[must_use]
    pub fn history(&self, date: Date) -> i64 {
        days_between(self.member_since, date) + 1
    }

    /// The `length` days that end at `end`.
    ///
    /// # Errors
    /// `short` if they reach back before the first membership date, [`Reason::NotRead`] if the
    /// series does not hold all of them.
    pub fn window(&self, end: Date, length: usize, short: Reason) -> Result<&[DayTotal], Reason> {
        let needed = i64::try_from(length).map_err(|_| Reason::NotRead)?;
        if self.history(end) < needed {
            return Err(short);
        }
        let end = self.index(end).ok_or(Reason::NotRead)? + 1;
        let start = end.checked_sub(length).ok_or(Reason::NotRead)?;
        self.days.get(start..end).ok_or(Reason::NotRead)
    }

    /// The position of a date; `None` outside the series.
    pub(crate) fn index(&self, date: Date) -> Option<usize> {
        let at = usize::try_from(days_between(self.first, date)).ok()?;
        (at < self.days.len()).then_some(at)
    }

    /// The days that belong to the membership.
    pub(crate) fn member_days(&self) -> &[DayTotal] {
        let before = usize::try_from(days_between(self.first, self.member_since)).unwrap_or(0);
        self.days.get(before..).unwrap_or_default()
    }

    /// The series holds every membership date up to its end.
    pub(crate) fn holds_whole_membership(&self) -> bool {
        self.first <= self.member_since
    }
}

/// Whole days from `from` to `to`, negative if `to` is earlier.
pub(crate) fn days_between(from: Date, to: Date) -> i64 {
    const SECONDS_A_DAY: i64 = 24 * 60 * 60;
    to.duration_since(from).as_secs() / SECONDS_A_DAY
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    const FIRST: Date = date(2026, 9, 7);

    fn days(before: usize, member: usize) -> Vec<DayTotal> {
        let mut days = vec![DayTotal::before_membership(); before];
        days.extend(vec![DayTotal::assumed_rest(); member]);
        days
    }

    #[test]
    fn must_agree_with_the_first_membership_date() {
        let since = date(2026, 9, 9);
        assert!(DailySeries::new(since, FIRST, days(2, 5)).is_ok());
        let too_late = DailySeries::new(since, FIRST, days(3, 4));
        assert_eq!(too_late, Err(SeriesError::Membership { date: since }));
        let too_early = DailySeries::new(since, FIRST, days(1, 6));
        assert_eq!(
            too_early,
            Err(SeriesError::Membership {
                date: date(2026, 9, 8)
            })
        );
        let never = DailySeries::new(date(2027, 1, 1), FIRST, days(3, 0)).unwrap();
        assert_eq!(never.history(never.last()), -113);
    }

    #[test]
    fn needs_days_within_the_calendar() {
        assert_eq!(
            DailySeries::new(FIRST, FIRST, Vec::new()),
            Err(SeriesError::Empty)
        );
        let beyond = DailySeries::new(Date::MAX, Date::MAX, days(0, 2));
        assert_eq!(beyond, Err(SeriesError::BeyondCalendar));
        let too_much = DailySeries::of_loads(FIRST, &[Load::from_au(15_001)]);
        assert_eq!(too_much, Err(SeriesError::Day(DayTotalError::OverDayMax)));
    }

    #[test]
    fn windows_tell_short_history_from_days_not_read() {
        let since = date(2026, 9, 1);
        let slice = DailySeries::new(since, FIRST, days(0, 10)).unwrap();
        let window = |date, length| {
            slice
                .window(date, length, Reason::FewerThan7Days)
                .map(<[_]>::len)
        };
        assert_eq!(window(slice.last(), 10), Ok(10));
        assert_eq!(window(slice.last(), 11), Err(Reason::NotRead));
        assert_eq!(window(slice.last(), 17), Err(Reason::FewerThan7Days));
        assert_eq!(window(date(2026, 9, 17), 1), Err(Reason::NotRead));
        assert_eq!(window(date(2026, 9, 6), 1), Err(Reason::NotRead));
        assert_eq!(window(date(2026, 8, 31), 1), Err(Reason::FewerThan7Days));
        assert_eq!(slice.day(slice.last()), Some(&DayTotal::assumed_rest()));
        assert_eq!(slice.day(date(2026, 9, 17)), None);
    }
}
