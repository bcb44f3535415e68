//! Load: what a session, a day or a week weighs.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

use crate::units::{Minutes, Rpe};

/// A load in arbitrary units (AU): session RPE x minutes, and sums of such products.
///
/// Kept as a whole number of half-AU, which is exact because ratings go in steps of 0.5 and
/// minutes are whole. Never negative. Source of the product: Foster C, et al. (2001) J Strength
/// Cond Res 15(1):109-115.
///
/// ```
/// use plimsoll_domain::{Load, Minutes, Rpe};
/// let game = Load::of(Rpe::from_f64(8.5).unwrap(), Minutes::new(80).unwrap());
/// assert_eq!(game.to_au(), 680.0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Load(i64);

impl Load {
    /// No load.
    pub const ZERO: Load = Load(0);

    /// The most one local date can hold: 1,500 minutes (the longest civil day, when clocks go
    /// back) at session RPE 10, that is 15,000 AU. Day totals above it are refused, so sums over
    /// any window and the squares of their roots stay far inside 128 bits.
    pub const DAY_MAX: Load = Load(30_000);

    /// The most any sum may be: ninety years of days at [`Load::DAY_MAX`].
    pub const MAX: Load = Load(1_000_000_000);

    /// The load of one session.
    #[must_use]
    pub fn of(rpe: Rpe, minutes: Minutes) -> Load {
        Load(i64::from(rpe.half_steps()) * i64::from(minutes.get()))
    }

    /// From a count of half-AU; `None` if negative or above [`Load::MAX`].
    #[must_use]
    pub const fn from_half_au(half_au: i64) -> Option<Load> {
        if 0 <= half_au && half_au <= Self::MAX.0 {
            Some(Load(half_au))
        } else {
            None
        }
    }

    /// From whole AU, for settings and examples.
    #[must_use]
    pub const fn from_au(au: u16) -> Load {
        Load(2 * au as i64)
    }

    /// The count of half-AU.
    #[must_use]
    pub const fn half_au(self) -> i64 {
        self.0
    }

    /// The load in AU, exactly.
    #[must_use]
    pub fn to_au(self) -> f64 {
        self.0 as f64 / 2.0
    }

    /// How far this load is above `earlier`; negative when below.
    #[must_use]
    pub const fn change_from(self, earlier: Load) -> LoadChange {
        LoadChange(self.0 - earlier.0)
    }

    /// The load less `other`, never below zero.
    #[must_use]
    pub const fn less(self, other: Load) -> Load {
        if other.0 < self.0 {
            Load(self.0 - other.0)
        } else {
            Load::ZERO
        }
    }
}

impl Add for Load {
    type Output = Load;

    fn add(self, other: Load) -> Load {
        Load(self.0 + other.0)
    }
}

impl AddAssign for Load {
    fn add_assign(&mut self, other: Load) {
        self.0 += other.0;
    }
}

impl Sum for Load {
    fn sum<I: Iterator<Item = Load>>(loads: I) -> Load {
        loads.fold(Load::ZERO, Add::add)
    }
}

impl fmt::Display for Load {
    /// In AU without trailing zeros: `2810`, `552.5`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.to_au())
    }
}

/// A difference of two loads in AU; may be negative.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LoadChange(i64);

impl LoadChange {
    /// The count of half-AU.
    #[must_use]
    pub const fn half_au(self) -> i64 {
        self.0
    }

    /// The difference in AU, exactly.
    #[must_use]
    pub fn to_au(self) -> f64 {
        self.0 as f64 / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn is_rpe_times_minutes_to_the_half_au() {
        let of =
            |rpe, minutes| Load::of(Rpe::from_f64(rpe).unwrap(), Minutes::new(minutes).unwrap());
        assert_eq!(of(6.5, 85).to_au(), 552.5);
        assert_eq!(of(6.5, 85).to_string(), "552.5");
        assert_eq!(of(10.0, 600).half_au(), 12_000);
        assert_eq!(of(0.0, 90), Load::ZERO);
    }

    #[test]
    fn is_never_negative_nor_beyond_a_lifetime() {
        assert_eq!(Load::from_half_au(-1), None);
        assert_eq!(Load::from_half_au(Load::MAX.half_au()), Some(Load::MAX));
        assert_eq!(Load::from_half_au(Load::MAX.half_au() + 1), None);
        assert_eq!(Load::from_au(1).less(Load::from_au(2)), Load::ZERO);
    }

    #[test]
    fn a_change_may_be_negative() {
        let change = Load::from_au(100).change_from(Load::from_au(160));
        assert_eq!((change.to_au(), change.half_au()), (-60.0, -120));
    }

    #[test]
    fn a_day_holds_25_hours_at_the_top_of_the_scale() {
        assert_eq!(
            Load::DAY_MAX.half_au(),
            1500 * i64::from(Rpe::MAX.half_steps())
        );
        assert!(90 * 366 * Load::DAY_MAX.half_au() < Load::MAX.half_au());
    }
}
