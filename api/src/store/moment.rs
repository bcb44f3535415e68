//! One write's place in a club's time.

use jiff::Timestamp;

/// When a club's write happened, and the sequence numbers it hands out.
///
/// Made by `clubs::lock`, which keeps the club's other writers out until the transaction ends, so
/// instants never run backwards and sequence numbers leave no gap.
#[derive(Debug, PartialEq, Eq)]
pub struct Moment {
    at: Timestamp,
    now: Timestamp,
    last_seq: i64,
    home_zone: String,
}

impl Moment {
    pub(super) fn new(at: Timestamp, now: Timestamp, last_seq: i64, home_zone: String) -> Self {
        Self {
            at,
            now,
            last_seq,
            home_zone,
        }
    }

    /// The club's home zone, an IANA name, as it stood when the club was locked.
    pub fn home_zone(&self) -> &str {
        &self.home_zone
    }

    /// The instant of everything this write receives.
    pub fn at(&self) -> Timestamp {
        self.at
    }

    /// What the clock shows: earlier than [`Moment::at`] after it was set back. For what is to happen soon.
    pub fn now(&self) -> Timestamp {
        self.now
    }

    /// The next number of the club's sequence.
    pub fn next_seq(&mut self) -> i64 {
        self.last_seq += 1;
        self.last_seq
    }

    /// The last number handed out, or the last of the write before.
    pub fn last_seq(&self) -> i64 {
        self.last_seq
    }
}
