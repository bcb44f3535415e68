//! Numbers that look random and are the same for the same seed.

use jiff::ToSpan;
use jiff::civil::{Date, date};

/// A linear congruential generator with the constants of Knuth's MMIX (The Art of Computer Programming, vol. 2, section 3.3.4; values
/// from memory).
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        let mut chance = Self(seed);
        chance.below(1);
        chance
    }

    /// A whole number below `limit`.
    pub(crate) fn below(&mut self, limit: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }

    /// One of these.
    pub(crate) fn of<'a, T>(&mut self, choices: &'a [T]) -> &'a T {
        let at = self.below(choices.len() as u64);
        &choices[usize::try_from(at).expect("few choices")]
    }

    /// A date of the ten weeks before Monday 9 November 2026.
    pub(crate) fn day(&mut self) -> Date {
        let days = i64::try_from(self.below(70)).expect("few days");
        date(2026, 8, 31) + days.days()
    }

    /// A start on such a date, on a quarter of an hour of the afternoon or near midnight.
    pub(crate) fn start(&mut self) -> String {
        let day = self.day();
        let hour = *self.of(&[15, 16, 17, 17, 18, 23]);
        let minute = *self.of(&[0, 15, 30, 40]);
        format!("{day}T{hour:02}:{minute:02}:00+01:00")
    }
}
