//! The one source of the current time.

use std::sync::atomic::{AtomicI64, Ordering};

use jiff::{SignedDuration, Timestamp};

/// Tells the time: the machine's, shifted or standing still where a setting says so.
#[derive(Debug, Clone, Copy)]
pub enum Clock {
    /// The machine's clock plus a constant: zero in service, more or less for trials and tests.
    Running(SignedDuration),
    /// Always the same instant, for tests.
    Fixed(Timestamp),
    /// What the hand points at, in microseconds of the Unix epoch: for simulations and sandboxes, which move it.
    ByHand(&'static AtomicI64),
}

impl Clock {
    /// The machine's own clock.
    pub const SYSTEM: Clock = Clock::Running(SignedDuration::ZERO);

    /// A clock that shows `start` now and runs on from there.
    pub fn starting_at(start: Timestamp) -> Self {
        Clock::Running(start.duration_since(machine_now()))
    }

    /// The current instant, but always after `last`, also when the clock was set back. A clock that
    /// stands still for tests only never goes back.
    pub fn after(&self, last: Timestamp) -> Timestamp {
        match self {
            Clock::Fixed(at) => last.max(*at),
            _ => self.now().max(last + SignedDuration::from_micros(1)),
        }
    }

    /// The current instant, to the microsecond: what both databases can keep.
    pub fn now(&self) -> Timestamp {
        let now = match self {
            Clock::Running(shift) => machine_now() + *shift,
            Clock::Fixed(at) => *at,
            Clock::ByHand(hand) => {
                Timestamp::from_microsecond(hand.load(Ordering::Relaxed)).unwrap_or_default()
            }
        };
        Timestamp::from_microsecond(now.as_microsecond()).unwrap_or(now)
    }
}

#[expect(
    clippy::disallowed_methods,
    reason = "the one place that may read the machine's clock"
)]
fn machine_now() -> Timestamp {
    Timestamp::now()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fixed_clock_stands_still_and_a_shifted_one_runs() {
        let at: Timestamp = "2026-10-26T07:00:00Z".parse().unwrap();
        assert_eq!(Clock::Fixed(at).now(), at);
        let running = Clock::starting_at(at);
        let (first, second) = (running.now(), running.now());
        assert!(first >= at && second >= first);
        assert!(second < at + SignedDuration::from_mins(1));
    }

    #[test]
    fn an_instant_after_another_is_after_it_although_the_clock_was_set_back() {
        let last: Timestamp = "2026-10-26T07:00:00Z".parse().unwrap();
        let back = Clock::starting_at(last - SignedDuration::from_hours(1));
        assert_eq!(back.after(last), last + SignedDuration::from_micros(1));
        let ahead = Clock::starting_at(last + SignedDuration::from_hours(1));
        assert!(ahead.after(last) >= last + SignedDuration::from_hours(1));
        assert_eq!(Clock::Fixed(last).after(last), last);
    }

    #[test]
    fn a_clock_moved_by_hand_shows_where_the_hand_points() {
        static HAND: AtomicI64 = AtomicI64::new(0);
        let clock = Clock::ByHand(&HAND);
        assert_eq!(clock.now(), Timestamp::UNIX_EPOCH);
        HAND.store(-1_000_000, Ordering::Relaxed);
        assert_eq!(
            clock.now(),
            Timestamp::UNIX_EPOCH - SignedDuration::from_secs(1)
        );
    }
}
