//! Which weeks of a club are due to be closed, and since when.
//!
//! Week w is due at the club's closing time in the week after it. Where the clocks skip that local
//! time (a change of the clocks, a zone that drops a date) it is due at the first instant after the
//! gap; where the local time comes twice, at the first.

use std::collections::BTreeSet;

use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{ClosingTime, IsoWeek};

/// A week that is closed so much after its time, or later, is marked as late.
pub const LATE_AFTER: SignedDuration = SignedDuration::from_mins(15);

/// A week whose time has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    /// The week.
    pub week: IsoWeek,
    /// Since when.
    pub at: Timestamp,
    /// Whether it is late by now.
    pub late: bool,
}

/// The weeks from `first` on that are due and not closed, in order.
pub fn due(
    zone: &TimeZone,
    closing: ClosingTime,
    first: IsoWeek,
    closed: &BTreeSet<IsoWeek>,
    now: Timestamp,
) -> Vec<Due> {
    let weeks = std::iter::successors(Some(first), |week| week.next());
    let timed = weeks.map_while(|week| Some((week, due_at(zone, closing, week)?)));
    timed
        .take_while(|(_, at)| *at <= now)
        .filter(|(week, _)| !closed.contains(week))
        .map(|(week, at)| Due {
            week,
            at,
            late: is_late(at, now),
        })
        .collect()
}

/// When a week is due; `None` at the calendar's end.
pub fn due_at(zone: &TimeZone, closing: ClosingTime, week: IsoWeek) -> Option<Timestamp> {
    first_instant(zone, closing.after(week))
}

/// Whether closing at `now` what was due at `at` is late.
pub fn is_late(at: Timestamp, now: Timestamp) -> bool {
    now.duration_since(at) >= LATE_AFTER
}

/// The first instant at which the clocks of a zone show this local time, or the first after the gap
/// that holds it.
fn first_instant(zone: &TimeZone, local: DateTime) -> Option<Timestamp> {
    match zone.to_ambiguous_timestamp(local).offset() {
        AmbiguousOffset::Unambiguous { offset } => offset.to_timestamp(local).ok(),
        AmbiguousOffset::Fold { before, .. } => before.to_timestamp(local).ok(),
        AmbiguousOffset::Gap { after, .. } => {
            // By the offset of after the gap, its local times lie before it.
            let before_gap = after.to_timestamp(local).ok()?;
            let change = zone.following(before_gap).next()?;
            Some(change.timestamp())
        }
    }
}

#[cfg(test)]
mod tests;
