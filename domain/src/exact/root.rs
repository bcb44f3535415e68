//! Roots of exact rational numbers.

use std::cmp::Ordering;
use std::fmt;

use super::{Decimal, Fraction, Places};

/// An exact number of the form `factor x sqrt(square)`: a standard deviation, a monotony, a
/// training strain, a z value. Compared and rounded through its square, never through a float.
///
/// Only this crate makes one, from loads within [`Load::DAY_MAX`](crate::Load::DAY_MAX) a day,
/// which keeps every product below `2^127`: at most `(7 x 30,000)^2 x 9e10 x 4e4` when a training
/// strain is rounded.
#[derive(Clone, Copy)]
pub struct Root {
    factor: i64,
    /// Never negative.
    square: Fraction,
}

impl Root {
    /// `factor x sqrt(square)`; `square` must not be negative.
    pub(crate) const fn new(factor: i64, square: Fraction) -> Root {
        Root { factor, square }
    }

    /// The value times a whole number.
    pub(crate) const fn times(self, factor: i64) -> Root {
        Root {
            factor: self.factor * factor,
            ..self
        }
    }

    /// Half the value.
    pub(crate) const fn halved(self) -> Root {
        Root {
            square: self.square.divided(4),
            ..self
        }
    }

    /// The value rounded half-even: the decimal whose neighbouring midpoints enclose the square.
    #[must_use]
    pub fn round(self, places: Places) -> Decimal {
        let den = i128::from(self.square.denominator());
        let doubled = 2 * i128::from(self.factor) * i128::from(places.scale());
        let target = doubled * doubled * i128::from(self.square.numerator());
        let midpoint = |twice: i128| twice * twice * den;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "an estimate, corrected exactly below"
        )]
        let estimate = (self.to_f64().abs() * places.scale() as f64 + 0.5) as i64;
        let mut nearest = i128::from(estimate);
        while nearest > 0 && target < midpoint(2 * nearest - 1) {
            nearest -= 1;
        }
        while target > midpoint(2 * nearest + 1) {
            nearest += 1;
        }
        if nearest % 2 != 0 {
            if target == midpoint(2 * nearest - 1) {
                nearest -= 1;
            } else if target == midpoint(2 * nearest + 1) {
                nearest += 1;
            }
        }
        Decimal::rounded(nearest * i128::from(self.factor.signum()), places)
    }

    /// The nearest `f64` within two rounding errors, for comparison with other programs.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        self.factor as f64 * self.square.to_f64().sqrt()
    }

    fn signed_square(self, den: i64) -> i128 {
        let magnitude =
            i128::from(self.factor).pow(2) * i128::from(self.square.numerator()) * i128::from(den);
        magnitude * i128::from(self.factor.signum())
    }
}

impl Ord for Root {
    fn cmp(&self, other: &Root) -> Ordering {
        self.signed_square(other.square.denominator())
            .cmp(&other.signed_square(self.square.denominator()))
    }
}

impl PartialOrd for Root {
    fn partial_cmp(&self, other: &Root) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Root {
    fn eq(&self, other: &Root) -> bool {
        let parts = |root: &Root| {
            let square = root.square;
            (root.factor, square.numerator(), square.denominator())
        };
        parts(self) == parts(other) || self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Root {}

impl fmt::Debug for Root {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} x sqrt({:?})", self.factor, self.square)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root(factor: i64, num: i64, den: i64) -> Root {
        Root::new(factor, Fraction::new(num, den).unwrap())
    }

    #[test]
    fn rounds_to_the_nearest() {
        assert_eq!(root(1, 2, 1).round(Places::Four).to_string(), "1.4142");
        assert_eq!(root(-1, 2, 1).round(Places::Four).to_string(), "-1.4142");
        assert_eq!(root(1, 1, 7).round(Places::Four).to_string(), "0.378");
        assert_eq!(root(0, 2, 1).round(Places::Two).to_string(), "0");
        assert_eq!(root(1, 0, 1).round(Places::Two).to_string(), "0");
    }

    #[test]
    fn ties_go_to_the_even_neighbour() {
        // sqrt(9.765625) = 3.125 and sqrt(9.828225) = 3.135, exactly.
        assert_eq!(
            root(1, 9_765_625, 1_000_000).round(Places::Two).to_string(),
            "3.12"
        );
        assert_eq!(
            root(1, 9_828_225, 1_000_000).round(Places::Two).to_string(),
            "3.14"
        );
        assert_eq!(
            root(-1, 9_765_625, 1_000_000)
                .round(Places::Two)
                .to_string(),
            "-3.12"
        );
        // One unit more or less in the square is no tie.
        assert_eq!(
            root(1, 9_765_626, 1_000_000).round(Places::Two).to_string(),
            "3.13"
        );
        assert_eq!(
            root(1, 9_828_224, 1_000_000).round(Places::Two).to_string(),
            "3.13"
        );
        assert_eq!(root(1, 1, 4).round(Places::Whole).to_string(), "0");
    }

    #[test]
    fn compares_values_not_parts() {
        assert_eq!(root(2, 3, 1), root(1, 12, 1));
        assert!(root(-1, 5, 1) < root(-1, 4, 1));
        assert!(root(-1, 5, 1) < root(1, 1, 100));
        assert_eq!(root(4, 2, 1).halved(), root(2, 2, 1));
        assert_eq!(root(1, 2, 1).times(3), root(3, 2, 1));
        assert_eq!(Decimal::hundredths(150).to_root(), root(3, 1, 4));
    }

    #[test]
    fn the_largest_training_strain_fits() {
        // Six days at the day's maximum and one half an AU short of it.
        let (most, less) = (30_000_i64, 29_999);
        let (sum, squares) = (6 * most + less, 6 * most * most + less * less);
        let monotony = root(1, 6 * sum * sum, 7 * (7 * squares - sum * sum));
        let strain = monotony.times(sum).halved();
        let expected = monotony.to_f64() * 104_999.5;
        assert!((strain.round(Places::Two).to_f64() / expected - 1.0).abs() < 1e-12);
        assert!(strain > monotony);
    }
}
