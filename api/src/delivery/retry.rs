//! When a delivery is tried again.
//!
//! The timetable is the example of the Standard Webhooks specification 1.0.0 (section on deliverability and reliability):
//! at once, then after 5 s, 5 min, 30 min, 2 h, 5 h, 10 h, 14 h, 20 h and 24 h: 10 attempts in 75 h 35 min 5 s.

use jiff::{SignedDuration, Timestamp};

/// Seconds between an attempt and the next.
const WAITS: [i64; 9] = [5, 300, 1_800, 7_200, 18_000, 36_000, 50_400, 72_000, 86_400];

/// From the first attempt to the last.
pub const SPAN: SignedDuration = SignedDuration::from_secs(75 * 3_600 + 35 * 60 + 5);

/// An endpoint that has taken nothing for so long is disabled.
pub const GIVE_UP: SignedDuration = SignedDuration::from_hours(5 * 24);

/// The longest wait that another side may ask for.
const LONGEST: i64 = 86_400;

/// When the attempt after `made` failed ones is due; `None` after the last.
///
/// `chance` is a random byte: it shifts the wait by up to a tenth either way. A `Retry-After` of the other side makes
/// the wait longer, never shorter, and no longer than a day.
pub fn next(made: i32, now: Timestamp, chance: u8, retry_after: Option<u32>) -> Option<Timestamp> {
    let last = usize::try_from(made).ok()?.checked_sub(1)?;
    let wait_ms = WAITS.get(last)? * 1_000;
    let jitter_ms = wait_ms * (i64::from(chance) - 127) / 1_280;
    let asked = i64::from(retry_after.unwrap_or(0)).min(LONGEST) * 1_000;
    let wait = SignedDuration::from_millis((wait_ms + jitter_ms).max(asked));
    now.checked_add(wait).ok()
}

/// The seconds of a `Retry-After` field (RFC 9110, section 10.2.3), given as a number or as a date.
pub fn seconds(field: &str, now: Timestamp) -> Option<u32> {
    let field = field.trim();
    if let Ok(seconds) = field.parse() {
        return Some(seconds);
    }
    let at = jiff::fmt::rfc2822::DateTimeParser::new()
        .parse_timestamp(field)
        .ok()?;
    u32::try_from(at.duration_since(now).as_secs().max(0)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: i64) -> Timestamp {
        Timestamp::from_second(second).unwrap()
    }

    #[test]
    fn ten_attempts_spread_over_the_timetable_within_a_tenth() {
        for chance in [0, 127, 255] {
            let mut now = at(1_800_000_000);
            let mut attempts = 1;
            while let Some(due) = next(attempts, now, chance, None) {
                let wait = due.duration_since(now).as_millis();
                let before = usize::try_from(attempts - 1).unwrap();
                let planned = i128::from(WAITS[before]) * 1_000;
                assert!((wait - planned).abs() * 10 <= planned, "{attempts}: {wait}");
                now = due;
                attempts += 1;
            }
            assert_eq!(attempts, 10);
            let hours = now.duration_since(at(1_800_000_000)).as_secs_f64() / 3_600.0;
            assert!((hours - 75.585).abs() <= 7.56, "{hours}");
        }
        assert_eq!(WAITS.iter().sum::<i64>(), SPAN.as_secs());
    }

    #[test]
    fn retry_after_lengthens_the_wait_and_never_beyond_a_day() {
        let now = at(1_800_000_000);
        let wait = |asked| {
            next(1, now, 127, Some(asked))
                .unwrap()
                .duration_since(now)
                .as_secs()
        };
        assert_eq!(wait(1), 5);
        assert_eq!(wait(120), 120);
        assert_eq!(wait(u32::MAX), 86_400);
    }

    #[test]
    fn retry_after_is_read_as_seconds_or_as_a_date() {
        let now: Timestamp = "2026-11-09T06:00:00Z".parse().unwrap();
        assert_eq!(seconds(" 120 ", now), Some(120));
        assert_eq!(seconds("Mon, 09 Nov 2026 06:02:00 GMT", now), Some(120));
        assert_eq!(seconds("Mon, 09 Nov 2026 05:00:00 GMT", now), Some(0));
        assert_eq!(seconds("soon", now), None);
    }
}
