//! When sessions with jumps may begin and end, and the time between them: as sure as what is said of their start and length.

use jiff::civil::Time;

use crate::figure::Bounds;
use crate::units::Minutes;

const MINUTE: i64 = 60;
pub(crate) const DAY: i64 = 24 * 60 * MINUTE;
/// The longest session.
const LONGEST: i64 = 600 * MINUTE;

/// Seconds of any one scale at which a session may begin, and at which it may end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct JumpTimes {
    starts: Bounds<i64>,
    ends: Bounds<i64>,
}

impl JumpTimes {
    /// Of a session on the day that begins at `midnight`. Without a start it is any time of its day, on which it ends at the latest.
    pub(crate) fn of(midnight: i64, start: Option<Time>, minutes: Option<Minutes>) -> JumpTimes {
        let (short, long) = match minutes {
            Some(minutes) => {
                let seconds = i64::from(minutes.get()) * MINUTE;
                (seconds, seconds)
            }
            None => (0, LONGEST),
        };
        let Some(start) = start else {
            return JumpTimes {
                starts: spread(midnight, midnight + DAY),
                ends: spread(midnight + short, midnight + DAY),
            };
        };
        let begins = midnight + (i64::from(start.hour()) * 60 + i64::from(start.minute())) * MINUTE;
        JumpTimes {
            starts: spread(begins, begins),
            ends: spread(begins + short, begins + long),
        }
    }

    /// Seconds from the last end of earlier sessions to its start, with the shortest as the point.
    pub(crate) fn since(self, last_end: Bounds<i64>) -> Bounds<i64> {
        let least = (self.starts.low - last_end.high).max(0);
        spread(least, (self.starts.high - last_end.low).max(least))
    }

    /// When the last of earlier sessions and this one ends.
    pub(crate) fn last_end(self, earlier: Option<Bounds<i64>>) -> Bounds<i64> {
        let ends = self.ends;
        earlier.map_or(ends, |earlier| {
            spread(ends.low.max(earlier.low), ends.high.max(earlier.high))
        })
    }
}

fn spread(low: i64, high: i64) -> Bounds<i64> {
    Bounds {
        low,
        point: low,
        high,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::time;

    use super::*;

    #[test]
    fn what_is_at_any_time_of_a_day_may_end_after_what_is_said() {
        let hour = Minutes::new(60).ok();
        let (open, said) = (
            JumpTimes::of(0, None, hour),
            JumpTimes::of(0, Some(time(8, 0, 0, 0)), hour),
        );
        // From 09:00 of the one that is said, or from midnight if the other comes last, to 08:00 two days on.
        let last = said.last_end(Some(open.last_end(None)));
        let next = JumpTimes::of(2 * DAY, Some(time(8, 0, 0, 0)), hour);
        let since = next.since(last);
        assert_eq!((since.low, since.high), (32 * 3600, 47 * 3600));
    }
}
