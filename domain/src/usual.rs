//! An athlete's own usual range of ratings, for a bound that is usual but not guaranteed.
//!
//! The 10th and 90th percentile, by linear interpolation, of the last 8 to 30 ratings of one kind
//! of session: at position `p (n - 1)` of the sorted ratings. With fewer than 8 there is none.
//! Rating and minutes are kept apart and multiplied (Benson LC, et al. 2021, J Sports Sci Med
//! 20:188-196); the range never enters a point value.

use crate::exact::Fraction;
use crate::load::Load;
use crate::units::{Minutes, Rpe};

/// Ratings needed.
pub const LEAST: usize = 8;
/// Ratings looked at.
pub const MOST: usize = 30;

/// A range of ratings, in half steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsualRange {
    tenths_low: i64,
    tenths_high: i64,
}

impl UsualRange {
    /// The range of ratings of one kind, the newest last.
    ///
    /// ```
    /// use plimsoll_domain::{Rpe, UsualRange};
    /// let ratings = [4.0, 5.0, 5.0, 6.0, 6.0, 6.0, 7.0, 8.0].map(|r| Rpe::from_f64(r).unwrap());
    /// let range = UsualRange::of(&ratings).unwrap();
    /// assert_eq!((range.low().to_f64(), range.high().to_f64()), (4.7, 7.3));
    /// ```
    #[must_use]
    pub fn of(ratings: &[Rpe]) -> Option<UsualRange> {
        let newest = ratings.get(ratings.len().saturating_sub(MOST)..)?;
        if newest.len() < LEAST {
            return None;
        }
        let mut sorted: Vec<i64> = newest.iter().map(|r| i64::from(r.half_steps())).collect();
        sorted.sort_unstable();
        Some(UsualRange {
            tenths_low: percentile(&sorted, 1),
            tenths_high: percentile(&sorted, 9),
        })
    }

    /// The low end, a rating that need not lie on the scale's steps.
    #[must_use]
    pub fn low(&self) -> Fraction {
        Fraction::over::<20>(self.tenths_low)
    }

    /// The high end.
    #[must_use]
    pub fn high(&self) -> Fraction {
        Fraction::over::<20>(self.tenths_high)
    }

    /// The usual range of loads of a session of these minutes, widened to whole half-AU.
    #[must_use]
    pub fn loads(&self, minutes: Minutes) -> (Load, Load) {
        let minutes = i64::from(minutes.get());
        let low = (self.tenths_low * minutes).div_euclid(10);
        let high = (self.tenths_high * minutes + 9).div_euclid(10);
        let load = |half_au| Load::from_half_au(half_au).unwrap_or(Load::ZERO);
        (load(low), load(high))
    }
}

/// The percentile at `tenth` tenths, in tenths of a half step. `sorted` is not empty.
fn percentile(sorted: &[i64], tenth: i64) -> i64 {
    let steps = i64::try_from(sorted.len()).unwrap_or(i64::MAX) - 1;
    let (whole, part) = ((tenth * steps) / 10, (tenth * steps) % 10);
    let at = |index: i64| {
        let index = usize::try_from(index).unwrap_or(0);
        sorted.get(index).or(sorted.last()).copied().unwrap_or(0)
    };
    at(whole) * (10 - part) + at(whole + 1) * part
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(ratings: &[f64]) -> Option<UsualRange> {
        let ratings: Vec<Rpe> = ratings.iter().map(|r| Rpe::from_f64(*r).unwrap()).collect();
        UsualRange::of(&ratings)
    }

    #[test]
    fn fewer_than_eight_ratings_have_no_usual_range() {
        assert_eq!(range(&[5.0; 7]), None);
        assert_eq!(range(&[5.0; 8]).unwrap().low().to_f64(), 5.0);
    }

    #[test]
    fn only_the_newest_thirty_count() {
        let ratings = [[10.0; 30], [4.0; 30]].concat();
        assert_eq!(range(&ratings).unwrap().high().to_f64(), 4.0);
    }

    /// numpy.percentile([3,4,5,5,6,6,6,7,7,8,9], [10, 90]) with linear interpolation: 4.0, 8.0.
    #[test]
    fn percentiles_are_those_of_numpy() {
        let usual = range(&[3.0, 4.0, 5.0, 5.0, 6.0, 6.0, 6.0, 7.0, 7.0, 8.0, 9.0]).unwrap();
        assert_eq!((usual.low().to_f64(), usual.high().to_f64()), (4.0, 8.0));
    }

    #[test]
    fn loads_are_widened_to_half_au() {
        let usual = range(&[4.0, 5.0, 5.0, 6.0, 6.0, 6.0, 7.0, 8.0]).unwrap();
        let (low, high) = usual.loads(Minutes::new(45).unwrap());
        assert_eq!((low.to_au(), high.to_au()), (211.5, 328.5));
        let (low, high) = usual.loads(Minutes::new(33).unwrap());
        assert_eq!(
            (low.to_au(), high.to_au()),
            (155.0, 241.0),
            "155.1 and 240.9"
        );
    }
}
