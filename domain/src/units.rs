//! What a session is rated and timed in: session RPE and minutes.

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rpe_is_zero_to_ten_in_half_steps() {
        assert_eq!(Rpe::from_f64(8.5).map(Rpe::half_steps), Ok(17));
        assert_eq!(Rpe::from_f64(0.0).map(Rpe::half_steps), Ok(0));
        assert_eq!(Rpe::from_f64(10.0), Ok(Rpe::MAX));
        for outside in [-0.5, 10.5, 11.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(Rpe::from_f64(outside), Err(RpeError::OutOfRange));
        }
        for between in [0.25, 6.4, 9.999_999] {
            assert_eq!(Rpe::from_f64(between), Err(RpeError::OffStep));
        }
        assert_eq!(Rpe::from_half_steps(21), Err(RpeError::OutOfRange));
        assert_eq!(Rpe::from_half_steps(13).map(Rpe::to_f64), Ok(6.5));
    }

    #[test]
    fn minutes_are_one_to_six_hundred() {
        assert_eq!(Minutes::new(1).map(Minutes::get), Ok(1));
        assert_eq!(Minutes::new(600).map(Minutes::get), Ok(600));
        for outside in [0, -1, 601, 65_537, i64::MAX, i64::MIN] {
            assert_eq!(Minutes::new(outside), Err(MinutesError));
        }
    }
}
