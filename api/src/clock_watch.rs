//! Whether the machine's clock can be believed: by a counter that nobody sets, and by the database's clock.
//!
//! ```text
//! step = time by the clock since the start - time by the counter since the start
//! skew = time by the clock - time by the database's clock
//! ```
//!
//! A step or a skew of more than a day, either way, is not believed: a week that is closed stays closed, so a clock that shows another
//! year would end the weekly list for good. What the service does by itself then rests until the clock is right again or the service
//! is started anew. A step of less closes a week by as much too early, and what is entered afterwards corrects it. A pause of the
//! machine looks like a step forward where the counter paused too.

use std::time::Instant;

use jiff::{SignedDuration, Timestamp};

use crate::clock::Clock;
use crate::store::{Clubs, Store, StoreError, database_clock};

/// As far as the clock is believed.
const BELIEVED: SignedDuration = SignedDuration::from_hours(24);
/// A skew of more is told in the service's health.
pub const NOTICED: SignedDuration = SignedDuration::from_secs(60);

/// When the service was started, by the clock and by the counter.
#[derive(Debug, Clone, Copy)]
pub struct ClockWatch {
    by_clock: Timestamp,
    by_counter: Instant,
}

impl ClockWatch {
    /// Begins now.
    #[expect(
        clippy::new_without_default,
        reason = "a watch is begun at one moment, the start"
    )]
    pub fn new() -> Self {
        Self {
            by_clock: Clock::SYSTEM.now(),
            by_counter: Instant::now(),
        }
    }

    /// How far the machine's clock was set forward since the start; negative for back.
    pub fn step(self) -> SignedDuration {
        let passed = self.by_counter.elapsed();
        let passed = SignedDuration::try_from(passed).unwrap_or(SignedDuration::MAX);
        Clock::SYSTEM.now().duration_since(self.by_clock) - passed
    }

    /// Whether it was set by so little that it is believed.
    pub fn is_steady(self) -> bool {
        within(self.step(), BELIEVED)
    }

    /// The time by a clock, where the machine's is steady. It is read first and judged after, so a clock that is set in between is
    /// found out.
    pub fn steady_now(self, clock: Clock) -> Option<Timestamp> {
        let now = clock.now();
        self.is_steady().then_some(now)
    }

    /// Whether it is believed, by the database's clock too, where that has one.
    pub async fn is_believed(self, store: &Store) -> bool {
        let skew = skew(store).await.ok().flatten();
        self.is_steady() && skew.is_none_or(|skew| within(skew, BELIEVED))
    }
}

/// Whether a difference is at most this, either way.
pub fn within(difference: SignedDuration, most: SignedDuration) -> bool {
    (-most..=most).contains(&difference)
}

/// How far the machine's clock is ahead of the database's; `None` where the database has none of its own.
///
/// # Errors
/// Those of the database.
pub async fn skew(store: &Store) -> Result<Option<SignedDuration>, StoreError> {
    let asked = Clock::SYSTEM.now();
    let found = store.read(Clubs::Every, database_clock::now).await?;
    let answered = Clock::SYSTEM.now();
    let halfway = asked + (answered.duration_since(asked)) / 2;
    Ok(found.map(|found| halfway.duration_since(found)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_nobody_sets_makes_no_step() {
        let watch = ClockWatch::new();
        assert!(within(watch.step(), SignedDuration::from_secs(1)));
        assert!(watch.is_steady());
    }

    #[test]
    fn a_clock_that_was_set_by_more_than_a_day_is_not_believed() {
        let began = |ago: SignedDuration| ClockWatch {
            by_clock: Clock::SYSTEM.now() - ago,
            by_counter: Instant::now(),
        };
        let hours = SignedDuration::from_hours;
        for (ago, steady) in [(1, true), (23, true), (25, false), (4 * 365 * 24, false)] {
            for (ago, way) in [(ago, "forward"), (-ago, "back")] {
                let watch = began(hours(ago));
                assert_eq!(watch.is_steady(), steady, "{ago} hours {way}");
                let now = watch.steady_now(Clock::SYSTEM);
                assert_eq!(now.is_some(), steady, "{ago} hours {way}");
            }
        }
    }
}
