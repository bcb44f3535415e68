//! Spans of days for which a clinician limits load.

use jiff::civil::Date;

use crate::load::Load;

/// What a clinician says about load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClinicianLimit {
    /// Seven days have at most this load.
    Week(Load),
    /// A written clearance is waited for: nothing is computed, and the days count as days away.
    UntilCleared,
}

/// A span of days with such a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LimitedSpan {
    /// First day.
    pub from: Date,
    /// Last day; `None` while it goes on.
    pub until: Option<Date>,
    /// The limit.
    pub limit: ClinicianLimit,
}

impl LimitedSpan {
    /// Whether one of its days lies in `from..=to`.
    #[must_use]
    pub fn reaches(&self, from: Date, to: Date) -> bool {
        self.from <= to && self.until.is_none_or(|until| from <= until)
    }
}
