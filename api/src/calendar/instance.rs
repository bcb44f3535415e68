//! What a calendar gives: instances of planned sessions.

use std::fmt;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

/// One planned session. `(uid, recurrence_id)` is its natural key within the calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct Instance {
    /// The event that it is of.
    pub uid: Arc<str>,
    /// Which instance of an event that recurs; none for an event that does not.
    pub recurrence_id: Option<RecurrenceId>,
    /// Revision of the component it was read from. It tells revisions of that component apart; a change of
    /// one instance has its own count, which may be below that of the event.
    pub sequence: u32,
    /// When it starts.
    pub start: Start,
    /// Whole minutes it takes, to the nearest minute, halves up.
    pub minutes: u32,
    /// Whether it takes place as planned.
    pub status: Status,
    /// What is said about it, shared among the instances that say the same.
    pub text: Arc<Text>,
}

impl Instance {
    /// Whether it is said to take whole days instead of beginning at a time.
    pub fn is_all_day(&self) -> bool {
        self.start.said == Said::Date
    }
}

/// The original start of an instance, before it was moved (RECURRENCE-ID of RFC 5545, 3.8.4.4). It
/// stays the same as long as the rule still gives that start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RecurrenceId {
    /// Of an event of whole days.
    Date(Date),
    /// Of an event that begins at a time.
    At(Timestamp),
}

impl fmt::Display for RecurrenceId {
    /// A date as YYYY-MM-DD, an instant as RFC 3339 in UTC.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Date(date) => date.fmt(f),
            Self::At(at) => at.fmt(f),
        }
    }
}

/// When an instance starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Start {
    /// The instant; of whole days the first moment of the first day.
    pub at: Timestamp,
    /// The zone in which its date is read.
    pub zone: TimeZone,
    /// What the calendar said about the zone.
    pub said: Said,
}

impl Start {
    /// Local time at the place.
    pub fn local(&self) -> DateTime {
        self.zone.to_datetime(self.at)
    }

    /// Date at the place.
    pub fn date(&self) -> Date {
        self.local().date()
    }

    /// The IANA name of the zone, where the calendar named one that has such a name.
    pub fn zone_name(&self) -> Option<&str> {
        self.zone.iana_name().filter(|_| self.said == Said::Zone)
    }
}

/// What a calendar said about the zone of a start. Where it named none, the default zone stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Said {
    /// A date without a time, and so without a zone.
    Date,
    /// A local time without a zone.
    Floating,
    /// A time in UTC.
    Utc,
    /// A local time in a named zone.
    Zone,
}

/// Whether an instance takes place as planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Status {
    /// At its original start.
    Planned,
    /// At another start than its original one.
    Moved,
    /// Not at all.
    Cancelled,
}

impl Status {
    /// The stable code.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Moved => "moved",
            Self::Cancelled => "cancelled",
        }
    }
}

/// What is said about an event. Longer texts are cut at the bounds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Text {
    /// SUMMARY: what it is called.
    pub summary: Option<String>,
    /// DESCRIPTION: what else there is to say.
    pub description: Option<String>,
    /// LOCATION: where it is.
    pub location: Option<String>,
    /// CATEGORIES, in order.
    pub categories: Vec<String>,
}

/// What a calendar with METHOD:CANCEL takes back (RFC 5546, 3.2.5).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cancellation {
    /// The event.
    pub uid: Arc<str>,
    /// Which instance of it; none for every one.
    pub recurrence_id: Option<RecurrenceId>,
    /// Whether every later instance is taken back too.
    pub and_later: bool,
    /// Revision: content of a higher one is newer and stays.
    pub sequence: u32,
}
