//! When weeks are to be closed: pure, from the club's zone, its setting and an instant.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Span, Timestamp};
use plimsoll_domain::IsoWeek;

use crate::error::Problem;

/// A week closed later than this after its time was closed late.
pub const PUNCTUAL: SignedDuration = SignedDuration::from_hours(1);

/// A weekday and time of the week after, in the club's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClosingTime {
    /// Days after the Sunday, 1 for Monday to 7 for the next Sunday.
    days_after: i8,
    /// The time of day, to the minute.
    time: Time,
}

impl Default for ClosingTime {
    /// Monday, 07:00.
    fn default() -> Self {
        Self {
            days_after: 1,
            time: Time::constant(7, 0, 0, 0),
        }
    }
}

impl ClosingTime {
    /// A weekday, 1 for Monday to 7 for Sunday, and a minute of the day, 0 to 1439.
    pub fn new(weekday: i32, minute: i32) -> Option<Self> {
        let days_after = i8::try_from(weekday)
            .ok()
            .filter(|day| (1..=7).contains(day))?;
        let (hour, minute) = (
            i8::try_from(minute / 60).ok()?,
            i8::try_from(minute % 60).ok()?,
        );
        let time = Time::new(hour, minute, 0, 0).ok()?;
        Some(Self { days_after, time })
    }

    /// When a week is due: at the local time; where the clocks skip it, at the first instant after the
    /// gap; where they show it twice, the first time.
    pub fn due(self, week: IsoWeek, zone: &TimeZone) -> Result<Timestamp, Problem> {
        let date = week
            .sunday()
            .saturating_add(Span::new().days(self.days_after));
        first_instant(date.to_datetime(self.time), zone)
    }
}

/// The first instant at which a zone's clocks show a local time or a later one.
fn first_instant(local: DateTime, zone: &TimeZone) -> Result<Timestamp, Problem> {
    let ambiguous = zone.to_ambiguous_timestamp(local);
    let skipped = matches!(ambiguous.offset(), AmbiguousOffset::Gap { .. });
    let instant = ambiguous
        .compatible()
        .map_err(|error| Problem::internal(&error))?;
    // Read by the offset before the gap, a time within it lies as far behind the change of the clocks.
    let just_after = instant + SignedDuration::from_secs(1);
    let change = skipped.then(|| zone.preceding(just_after).next()).flatten();
    Ok(change.map_or(instant, |change| change.timestamp()))
}

/// A week that is to be closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DueWeek {
    /// The week.
    pub week: IsoWeek,
    /// Since when it is due.
    pub due: Timestamp,
}

/// The weeks from `first` on that are due by `now` and not among those closed, the earliest first.
pub fn due_weeks(
    first: IsoWeek,
    closed: &[Date],
    time: ClosingTime,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Vec<DueWeek>, Problem> {
    let mut weeks = Vec::new();
    let mut next = Some(first);
    while let Some(week) = next {
        let due = time.due(week, zone)?;
        if due > now {
            break;
        }
        if !closed.contains(&week.monday()) {
            weeks.push(DueWeek { week, due });
        }
        next = week.next();
    }
    Ok(weeks)
}

#[cfg(test)]
mod tests;
