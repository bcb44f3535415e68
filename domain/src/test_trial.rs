//! Trials of a physical test: what was measured, on which side, and whether more is better.
//!
//! A trial is a positive number of thousandths of the test's unit, so that nothing is rounded before the last figure. A result has at
//! least two trials, and stands for its best or for their mean; which of the two is always stated. Common practice, no source.

use crate::baseline::twice_median;
use crate::coded::coded_enum;
use crate::exact::{Decimal, Fraction};

coded_enum! {
    /// Which side of the body.
    Side {
        /// The left one.
        Left = "left",
        /// The right one.
        Right = "right",
        /// Both: a test without sides, or an injury of the two.
        Both = "both",
    }
}

coded_enum! {
    /// Which way of two values is the better one.
    Better {
        /// More is better, as of a distance.
        Higher = "higher",
        /// Less is better, as of a time.
        Lower = "lower",
    }
}

coded_enum! {
    /// What of its trials a result stands for.
    TrialsBy {
        /// Their mean.
        Mean = "mean",
        /// The best of them.
        Best = "best",
    }
}

coded_enum! {
    /// When a test was made.
    Phase {
        /// Before an injury: what later results are compared with.
        Pre = "pre",
        /// At any other time.
        Post = "post",
    }
}

/// One trial: a positive number of thousandths of the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TrialValue(i64);

/// Why a text is no trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a trial is a positive number up to 100000 with at most 3 decimals")]
pub struct TrialError;

impl TrialValue {
    /// The most of any unit.
    pub const MAX: TrialValue = TrialValue(100_000_000);

    /// From thousandths of the unit.
    ///
    /// # Errors
    /// [`TrialError`] unless positive and at most [`TrialValue::MAX`].
    pub fn from_thousandths(thousandths: i64) -> Result<TrialValue, TrialError> {
        if (1..=Self::MAX.0).contains(&thousandths) {
            Ok(TrialValue(thousandths))
        } else {
            Err(TrialError)
        }
    }

    /// From a decimal number as written.
    ///
    /// # Errors
    /// [`TrialError`] also for more than three decimals.
    ///
    /// ```
    /// use plimsoll_domain::TrialValue;
    /// assert_eq!(TrialValue::parse("2.10").unwrap().thousandths(), 2_100);
    /// assert!(TrialValue::parse("2.1005").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<TrialValue, TrialError> {
        let written: Decimal = text.parse().map_err(|_| TrialError)?;
        let value = written.to_fraction();
        let thousandths = value.numerator() * 1_000;
        if thousandths % value.denominator() != 0 {
            return Err(TrialError);
        }
        Self::from_thousandths(thousandths / value.denominator())
    }

    /// The count of thousandths.
    #[must_use]
    pub const fn thousandths(self) -> i64 {
        self.0
    }

    /// The value as written.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        self.0 as f64 / 1_000.0
    }
}

/// The trials of one result, two to ten of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trials(Vec<TrialValue>);

/// Why a list is not the trials of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a result has 2 to 10 trials")]
pub struct TrialsError;

impl Trials {
    /// Fewest trials of a result.
    pub const LEAST: usize = 2;
    /// Most trials of a result.
    pub const MOST: usize = 10;

    /// From the single trials, in the order they were made.
    ///
    /// # Errors
    /// [`TrialsError`] for fewer than two or more than ten.
    pub fn new(trials: Vec<TrialValue>) -> Result<Trials, TrialsError> {
        if (Self::LEAST..=Self::MOST).contains(&trials.len()) {
            Ok(Trials(trials))
        } else {
            Err(TrialsError)
        }
    }

    /// The single trials.
    #[must_use]
    pub fn all(&self) -> &[TrialValue] {
        &self.0
    }

    /// What the result stands for.
    #[must_use]
    pub fn measured(&self, by: TrialsBy, better: Better) -> Measured {
        let all = self.0.iter().map(|trial| trial.0);
        let best = match better {
            Better::Higher => all.clone().max(),
            Better::Lower => all.clone().min(),
        };
        match (by, best) {
            (TrialsBy::Best, Some(best)) => Measured {
                sum: best,
                count: 1,
            },
            _ => Measured {
                sum: all.clone().sum(),
                count: all.map(|_| 1).sum(),
            },
        }
    }
}

/// What a result stands for: always positive, exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    /// Sum of the trials that count, in thousandths.
    sum: i64,
    /// How many count.
    count: i64,
}

impl Measured {
    /// The value in the test's unit.
    #[must_use]
    pub const fn value(self) -> Fraction {
        Fraction::of_parts(self.sum, 1_000 * self.count)
    }

    /// This in per cent of another.
    pub(crate) const fn percent_of(self, whole: Measured) -> Fraction {
        Fraction::of_parts(100 * self.sum * whole.count, self.count * whole.sum)
    }
}

/// Earlier trials needed before one is called unusual.
const LEAST_EARLIER: usize = 6;

/// Whether a trial is further than three robust standard deviations from the median of her earlier ones: `|x - median| > 3 x 1.4826
/// MAD`. Not judged before six earlier trials, nor where half of them are the same. 1.4826 makes the median absolute deviation of a
/// normal distribution its standard deviation. Common practice, no source.
#[must_use]
pub fn is_unusual(earlier: &[TrialValue], trial: TrialValue) -> bool {
    if earlier.len() < LEAST_EARLIER {
        return false;
    }
    let twice_the_median = twice_median(earlier.iter().map(|one| one.0).collect());
    let twice_off = |one: &TrialValue| (2 * one.0 - twice_the_median).abs();
    let four_times_the_deviation = twice_median(earlier.iter().map(twice_off).collect());
    four_times_the_deviation > 0
        && 2 * 10_000 * twice_off(&trial) > 3 * 14_826 * four_times_the_deviation
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn value(text: &str) -> TrialValue {
        TrialValue::parse(text).unwrap()
    }

    fn trials(texts: &[&str]) -> Trials {
        Trials::new(texts.iter().map(|text| value(text)).collect()).unwrap()
    }

    #[test]
    fn a_trial_is_positive_and_has_three_decimals_at_most() {
        assert_eq!(value("0.001").thousandths(), 1);
        assert_eq!(value("100000"), TrialValue::MAX);
        assert_eq!(value("2.100"), value("2.1"));
        for refused in ["0", "-1", "100000.001", "1.2345", "1e3", "", "NaN"] {
            assert_eq!(TrialValue::parse(refused), Err(TrialError), "{refused}");
        }
    }

    #[test]
    fn a_result_has_two_to_ten_trials() {
        assert_eq!(Trials::new(vec![value("1")]), Err(TrialsError));
        assert_eq!(Trials::new(vec![value("1"); 11]), Err(TrialsError));
        assert_eq!(trials(&["1", "2"]).all().len(), 2);
    }

    #[test]
    fn it_stands_for_its_best_or_for_the_mean() {
        let hops = trials(&["126", "128", "131"]);
        let printed = |by, better| hops.measured(by, better).value().round(Places::Four);
        assert_eq!(
            printed(TrialsBy::Mean, Better::Higher).to_string(),
            "128.3333"
        );
        assert_eq!(printed(TrialsBy::Best, Better::Higher).to_string(), "131");
        assert_eq!(printed(TrialsBy::Best, Better::Lower).to_string(), "126");
    }

    #[test]
    fn a_trial_is_unusual_beyond_three_robust_deviations() {
        let earlier = ["126", "128", "130", "127", "129", "131"].map(value);
        // Median 128.5, median absolute deviation 1.5: 3 x 1.4826 x 1.5 = 6.6717.
        assert!(!is_unusual(&earlier, value("135.171")));
        assert!(is_unusual(&earlier, value("135.172")));
        assert!(is_unusual(&earlier, value("121.8")));
        assert!(
            !is_unusual(&earlier[..5], value("300")),
            "too few to tell by"
        );
        assert!(!is_unusual(&[value("128"); 8], value("129")), "no spread");
    }
}
