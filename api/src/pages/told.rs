//! How times, loads and codes are told, the same everywhere.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// An instant as the clocks of a place show it.
pub fn time(zone: &TimeZone, at: Timestamp) -> String {
    let there = zone.to_datetime(at);
    there.strftime("%a %-d %b %Y, %H:%M").to_string()
}

/// A code of the contract in words: `school_team` is "school team".
pub fn words(code: &str) -> String {
    code.replace('_', " ")
}

/// From least to most.
pub fn au_range(low: f64, high: f64) -> String {
    if low == high {
        format!("{low} AU")
    } else {
        format!("{low} to {high} AU")
    }
}

/// A load: as logged, and how far it can move.
pub fn au(point: f64, low: f64, high: f64) -> String {
    if low == point && high == point {
        format!("{point} AU")
    } else {
        format!("{point} AU as logged; {low} to {high} AU")
    }
}
