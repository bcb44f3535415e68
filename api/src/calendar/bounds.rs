//! How much of a calendar is taken.

use jiff::civil::{Date, date};

/// The first date taken, so that slips and hostile dates are noticed.
pub const EARLIEST: Date = date(1900, 1, 1);
/// The last date taken.
pub const LATEST: Date = date(2199, 12, 31);

/// Bounds of one text. Whoever sends more gets a refusal, not a slow service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    /// Bytes of the text.
    pub bytes: usize,
    /// Components of every kind, alarms and zones included.
    pub components: usize,
    /// Properties of one component that are read, those of the components within it included.
    pub properties: usize,
    /// Bytes of a UID.
    pub uid_bytes: usize,
    /// Dates of one rule from its start to the end of the window; also its COUNT, and the dates added
    /// to one event or taken out of it.
    pub dates_of_a_rule: usize,
    /// Dates of all rules together; also the dates added to events or taken out of them, together.
    pub dates: usize,
    /// Instances that one text gives.
    pub instances: usize,
    /// Whole minutes of one instance.
    pub minutes: u32,
    /// Characters kept of a summary, a place and a category.
    pub line_chars: usize,
    /// Characters kept of a description.
    pub text_chars: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self {
            bytes: 10 * 1024 * 1024,
            components: 50_000,
            properties: 20_000,
            uid_bytes: 500,
            dates_of_a_rule: 10_000,
            dates: 200_000,
            instances: 20_000,
            minutes: 14 * 24 * 60,
            line_chars: 500,
            text_chars: 4_000,
        }
    }
}
