//! What moves a sandbox's clock.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use jiff::{SignedDuration, Timestamp};

use crate::clock::Clock;

/// As far as the clock goes in one call: 52 weeks.
pub const AT_ONCE: SignedDuration = SignedDuration::from_hours(52 * 7 * 24);
/// As far as it goes from where it began: 520 weeks, so that tokens can outlast it.
pub const IN_ALL: SignedDuration = SignedDuration::from_hours(520 * 7 * 24);

/// The hand of a sandbox's clock.
#[derive(Debug)]
pub struct Hand {
    at: &'static AtomicI64,
    began: Timestamp,
    /// Held by whoever moves it: what becomes due on the way is done in order.
    pub(super) moving: Arc<tokio::sync::Mutex<()>>,
}

impl Hand {
    /// A hand that points at `began` until it is moved. Its eight bytes are never given back: clocks are copied everywhere, and an
    /// operator makes sandboxes one after another.
    pub fn starting_at(began: Timestamp) -> Self {
        Self {
            at: Box::leak(Box::new(AtomicI64::new(began.as_microsecond()))),
            began,
            moving: Arc::default(),
        }
    }

    /// The clock with this hand.
    pub fn clock(&self) -> Clock {
        Clock::ByHand(self.at)
    }

    /// Where it points.
    pub fn now(&self) -> Timestamp {
        self.clock().now()
    }

    /// The last instant that it can be moved to in one call from where it points then.
    pub fn furthest_from(&self, now: Timestamp) -> Timestamp {
        (now + AT_ONCE).min(self.began + IN_ALL)
    }

    /// Points it at an instant; never back.
    pub(super) fn move_to(&self, at: Timestamp) {
        self.at.fetch_max(at.as_microsecond(), Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_goes_forward_by_a_year_at_once_and_by_ten_in_all() {
        let began: Timestamp = "2026-11-30T06:00:00Z".parse().unwrap();
        let hand = Hand::starting_at(began);
        assert_eq!(hand.now(), began);
        assert_eq!(hand.furthest_from(began), began + AT_ONCE);
        for _ in 0..12 {
            hand.move_to(hand.furthest_from(hand.now()));
        }
        assert_eq!(hand.now(), began + IN_ALL);
        hand.move_to(began);
        assert_eq!(hand.now(), began + IN_ALL);
    }
}
