//! The units of a session: session RPE, minutes, and the load they make.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

/// Session RPE: the rating of perceived exertion of a whole session on the modified
/// category-ratio scale, 0 to 10 in steps of 0.5.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rpe(u8);

/// Why a number is not a session RPE.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RpeError {
    /// Below 0, above 10, or not a number.
    #[error("session RPE is 0 to 10")]
    OutOfRange,
    /// Between two steps of the scale.
    #[error("session RPE goes in steps of 0.5")]
    OffStep,
}

impl Rpe {
    /// The top of the scale.
    pub const MAX: Rpe = Rpe(20);

    /// From a count of half steps, 0 to 20.
    ///
    /// # Errors
    /// [`RpeError::OutOfRange`] above 20.
    pub fn from_half_steps(half_steps: u8) -> Result<Rpe, RpeError> {
        if half_steps <= Self::MAX.0 {
            Ok(Rpe(half_steps))
        } else {
            Err(RpeError::OutOfRange)
        }
    }

    /// From a number as written, 0 to 10 in steps of 0.5.
    ///
    /// # Errors
    /// [`RpeError::OutOfRange`] outside 0 to 10, [`RpeError::OffStep`] between two steps.
    pub fn from_f64(rating: f64) -> Result<Rpe, RpeError> {
        if !(0.0..=10.0).contains(&rating) {
            return Err(RpeError::OutOfRange);
        }
        (0..=Self::MAX.0)
            .map(Rpe)
            .find(|step| step.to_f64() == rating)
            .ok_or(RpeError::OffStep)
    }

    /// The count of half steps, 0 to 20.
    #[must_use]
    pub const fn half_steps(self) -> u8 {
        self.0
    }

    /// The rating as written, exactly.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        f64::from(self.0) / 2.0
    }
}

/// The length of a session in whole minutes, 1 to 600.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Minutes(u16);

/// Why a number is not the length of a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a session lasts 1 to 600 whole minutes")]
pub struct MinutesError;

impl Minutes {
    /// The longest session accepted.
    pub const MAX: u16 = 600;

    /// From a whole number of minutes.
    ///
    /// # Errors
    /// [`MinutesError`] outside 1 to 600.
    pub fn new(minutes: i64) -> Result<Minutes, MinutesError> {
        match u16::try_from(minutes) {
            Ok(minutes @ 1..=Self::MAX) => Ok(Minutes(minutes)),
            _ => Err(MinutesError),
        }
    }

    /// The number of minutes.
    #[must_use]
    pub const fn get(self) -> u16 {
        self.0
    }
}

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

    /// The load of one session.
    #[must_use]
    pub fn of(rpe: Rpe, minutes: Minutes) -> Load {
        Load(i64::from(rpe.0) * i64::from(minutes.0))
    }

    /// From a count of half-AU; `None` if negative.
    #[must_use]
    pub const fn from_half_au(half_au: i64) -> Option<Load> {
        if half_au >= 0 {
            Some(Load(half_au))
        } else {
            None
        }
    }

    /// From whole AU, for settings and examples.
    #[must_use]
    pub fn from_au(au: u32) -> Load {
        Load(2 * i64::from(au))
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
    pub(crate) const fn less(self, other: Load) -> Load {
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
