//! How ratings spread, and how far they lie from what sessions were meant to be.
//!
//! Of n ratings with sum S and sum of squares Q: mean `S / n`, sample variance
//! `(n Q - S^2) / (n (n - 1))`, in points of the scale. The gap of a session is its reported minus its
//! intended session RPE, negative where it felt easier; the gap of several is told of five or more.
//! Common practice, no source.

use std::collections::BTreeSet;

use crate::exact::{Fraction, Root};
use crate::reason::Reason;
use crate::units::Rpe;

/// Sessions needed to compare ratings with what was intended.
pub const LEAST_PAIRS: usize = 5;

/// A mean and how far the values spread around it, in points of the scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    /// How many values.
    pub count: usize,
    /// Their arithmetic mean.
    pub mean: Fraction,
    /// Their standard deviation, divisor n-1; `None` of a single one.
    pub standard_deviation: Option<Root>,
}

impl Spread {
    /// The spread of values in half steps; `None` of none.
    fn of(half_steps: impl Iterator<Item = i64> + Clone) -> Option<Spread> {
        let count = half_steps.clone().count();
        let number = i64::try_from(count).ok()?;
        let sum: i64 = half_steps.clone().sum();
        let squares: i64 = half_steps.map(|value| value * value).sum();
        let variance = Fraction::new(number * squares - sum * sum, 4 * number * (number - 1));
        Some(Spread {
            count,
            mean: Fraction::new(sum, 2 * number)?,
            standard_deviation: variance.map(|variance| Root::new(1, variance)),
        })
    }
}

/// How ratings spread; `None` of no ratings.
///
/// ```
/// use plimsoll_domain::{Places, Rpe, rating};
/// let ratings = [4.0, 5.0, 6.0, 7.0, 5.0, 8.0, 6.0, 3.0, 7.0, 5.0, 6.0, 9.0];
/// let ratings = ratings.map(|rating| Rpe::from_f64(rating).unwrap());
/// let spread = rating::spread(&ratings).unwrap();
/// assert_eq!(spread.mean.round(Places::Four).to_string(), "5.9167");
/// assert_eq!(spread.standard_deviation.unwrap().round(Places::Four).to_string(), "1.6765");
/// assert_eq!(rating::distinct(&ratings), 7);
/// ```
#[must_use]
pub fn spread(ratings: &[Rpe]) -> Option<Spread> {
    Spread::of(ratings.iter().map(|rpe| half_steps(*rpe)))
}

/// How many different ratings there are.
#[must_use]
pub fn distinct(ratings: &[Rpe]) -> usize {
    let different: BTreeSet<u8> = ratings.iter().map(|rpe| rpe.half_steps()).collect();
    different.len()
}

/// What was intended of a session, and what was reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compared {
    /// The session RPE it was meant to have.
    pub intended: Rpe,
    /// The session RPE that was reported.
    pub reported: Rpe,
}

impl Compared {
    /// Reported minus intended, in points of the scale.
    #[must_use]
    pub fn gap(&self) -> Fraction {
        Fraction::over::<2>(self.half_steps())
    }

    fn half_steps(&self) -> i64 {
        half_steps(self.reported) - half_steps(self.intended)
    }
}

/// How far ratings lie from what was intended, on the mean.
///
/// # Errors
/// [`Reason::FewerThan5Ratings`].
pub fn gap(compared: &[Compared]) -> Result<Spread, Reason> {
    let gaps = compared.iter().map(Compared::half_steps);
    let enough = compared.len() >= LEAST_PAIRS;
    let spread = enough.then(|| Spread::of(gaps)).flatten();
    spread.ok_or(Reason::FewerThan5Ratings)
}

fn half_steps(rpe: Rpe) -> i64 {
    i64::from(rpe.half_steps())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn compared() -> Vec<Compared> {
        let rpe = |rpe| Rpe::from_f64(rpe).unwrap();
        let intended = [6.0, 6.0, 7.0, 5.0, 8.0, 6.0].map(rpe);
        let reported = [5.0, 7.0, 7.0, 4.0, 6.0, 5.0].map(rpe);
        let pairs = intended.into_iter().zip(reported);
        pairs
            .map(|(intended, reported)| Compared { intended, reported })
            .collect()
    }

    #[test]
    fn s18_ratings_against_what_was_intended() {
        let spread = gap(&compared()).unwrap();
        assert_eq!(spread.mean.round(Places::Four).to_string(), "-0.6667");
        // numpy.std([-1, 1, 0, -1, -2, -1], ddof=1) = 1.0327955589886444
        let deviation = spread.standard_deviation.unwrap();
        assert_eq!(deviation.round(Places::Four).to_string(), "1.0328");
        assert_eq!(spread.count, 6);
    }

    #[test]
    fn fewer_than_five_are_no_comparison() {
        assert!(gap(&compared()[..5]).is_ok());
        assert_eq!(gap(&compared()[..4]), Err(Reason::FewerThan5Ratings));
        assert_eq!(gap(&[]), Err(Reason::FewerThan5Ratings));
    }

    #[test]
    fn the_gap_of_a_session_is_negative_where_it_felt_easier() {
        let gaps: Vec<f64> = compared().iter().map(|one| one.gap().to_f64()).collect();
        assert_eq!(gaps, [-1.0, 1.0, 0.0, -1.0, -2.0, -1.0]);
    }

    #[test]
    fn one_rating_has_a_mean_and_no_deviation() {
        let six = Rpe::from_f64(6.5).unwrap();
        let one = spread(&[six]).unwrap();
        assert_eq!((one.mean.to_f64(), one.standard_deviation), (6.5, None));
        assert_eq!(spread(&[]), None);
        let same = spread(&[six; 12]).unwrap().standard_deviation.unwrap();
        assert_eq!(same.round(Places::Four).to_string(), "0");
    }
}
