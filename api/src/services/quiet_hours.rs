//! Quiet hours: the local hours of a club in which no mail goes out.

use jiff::Timestamp;
use jiff::civil::Time;
use jiff::tz::TimeZone;

/// From a time of day to another, over midnight where the second is the earlier one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct QuietHours {
    from: Time,
    to: Time,
}

impl QuietHours {
    /// From and to minutes of the day; `None` where they are the same or no minutes of a day.
    pub fn new(from: i32, to: i32) -> Option<Self> {
        let time = |minute: i32| {
            let hour = i8::try_from(minute.div_euclid(60)).ok()?;
            Time::new(hour, i8::try_from(minute.rem_euclid(60)).ok()?, 0, 0).ok()
        };
        let (from, to) = (time(from)?, time(to)?);
        (from != to).then_some(Self { from, to })
    }

    /// When they end, where it is quiet now.
    ///
    /// A time that the clocks skip counts as so much later, one that comes twice as its first (RFC 5545, section 3.3.5).
    pub fn end(self, zone: &TimeZone, now: Timestamp) -> Option<Timestamp> {
        let local = zone.to_datetime(now);
        if !self.holds(local.time()) {
            return None;
        }
        let mut date = local.date();
        if local.time() >= self.to {
            date = date.tomorrow().ok()?;
        }
        let end = zone.to_ambiguous_timestamp(date.to_datetime(self.to));
        let first = end.compatible().ok()?;
        // In an hour that comes twice the first may lie behind us.
        if first > now {
            Some(first)
        } else {
            end.later().ok()
        }
    }

    fn holds(self, time: Time) -> bool {
        if self.from < self.to {
            (self.from..self.to).contains(&time)
        } else {
            time >= self.from || time < self.to
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(from: i32, to: i32, zone: &str, now: &str) -> Option<String> {
        let zone = TimeZone::get(zone).unwrap();
        let hours = QuietHours::new(from, to).unwrap();
        let end = hours.end(&zone, now.parse().unwrap())?;
        Some(zone.to_datetime(end).to_string())
    }

    #[test]
    fn it_is_quiet_from_one_time_of_day_to_another() {
        let night = |now| end(21 * 60, 7 * 60 + 30, "Europe/Copenhagen", now);
        for (now, wanted) in [
            ("2026-11-09T20:59:59+01:00", None),
            ("2026-11-09T21:00:00+01:00", Some("2026-11-10T07:30:00")),
            ("2026-11-10T00:00:00+01:00", Some("2026-11-10T07:30:00")),
            ("2026-11-10T07:29:59+01:00", Some("2026-11-10T07:30:00")),
            ("2026-11-10T07:30:00+01:00", None),
        ] {
            assert_eq!(night(now).as_deref(), wanted, "{now}");
        }
        let noon = |now| end(12 * 60, 14 * 60, "Europe/Copenhagen", now);
        assert_eq!(noon("2026-11-09T11:59:00+01:00"), None);
        assert_eq!(
            noon("2026-11-09T13:00:00+01:00").as_deref(),
            Some("2026-11-09T14:00:00")
        );
        assert_eq!(noon("2026-11-09T14:00:00+01:00"), None);
    }

    #[test]
    fn no_hours_are_not_all_hours() {
        assert_eq!(QuietHours::new(0, 0), None);
        assert_eq!(QuietHours::new(0, 1440), None);
        assert_eq!(QuietHours::new(-1, 60), None);
    }

    #[test]
    fn an_end_that_the_clocks_skip_or_repeat_is_the_first_that_comes() {
        // Europe/Copenhagen: 02:00 is skipped on 29 March 2026 and comes twice on 25 October (IANA time zone database).
        let zone = "Europe/Copenhagen";
        let skipped = end(22 * 60, 150, zone, "2026-03-29T01:30:00+01:00");
        assert_eq!(skipped.as_deref(), Some("2026-03-29T03:30:00"));
        let end_of = |now: &str| {
            let zone = TimeZone::get(zone).unwrap();
            QuietHours::new(22 * 60, 150)
                .unwrap()
                .end(&zone, now.parse().unwrap())
        };
        let first: Timestamp = "2026-10-25T02:30:00+02:00".parse().unwrap();
        assert_eq!(end_of("2026-10-25T02:15:00+02:00"), Some(first));
        let second: Timestamp = "2026-10-25T02:30:00+01:00".parse().unwrap();
        assert_eq!(end_of("2026-10-25T02:15:00+01:00"), Some(second));
    }
}
