//! Exact fractions of any length.

use std::cmp::Ordering;
use std::fmt;

use super::{Decimal, Fraction, Natural, Places};
use crate::load::Load;

/// An exact fraction of any length, never negative: what a chain of limits, each a share of the ones
/// before, comes to. Equality and order compare values by cross-multiplication.
#[derive(Clone)]
pub struct WideFraction {
    num: Natural,
    /// Never zero.
    den: Natural,
}

impl WideFraction {
    /// `num / den`, for a `den` known not to be zero.
    pub(crate) const fn of_parts(num: Natural, den: Natural) -> WideFraction {
        WideFraction { num, den }
    }

    /// Whether it is nothing.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        self.num == Natural::default()
    }

    /// The value rounded half-even.
    #[must_use]
    pub fn round(&self, places: Places) -> Decimal {
        let scaled = self.num.times(&places.scale().unsigned_abs().into());
        let floor = self.quotient(&scaled);
        let rest = scaled.less(&self.den.times(&floor.into()));
        let up = match rest.plus(&rest).cmp(&self.den) {
            Ordering::Less => false,
            Ordering::Equal => !floor.is_multiple_of(2),
            Ordering::Greater => true,
        };
        Decimal::rounded(i128::from(floor) + i128::from(up), places)
    }

    /// The largest whole number whose product with the denominator is not above `num`, bit by bit
    /// from the highest; held at the end of 64 bits.
    fn quotient(&self, num: &Natural) -> u64 {
        (0..u64::BITS).rev().fold(0, |found, bit| {
            let tried = found | 1 << bit;
            if self.den.times(&tried.into()) <= *num {
                tried
            } else {
                found
            }
        })
    }

    /// The value divided by a fraction, which is taken as it is without its sign and must not be zero.
    pub(crate) fn over(&self, divisor: Fraction) -> WideFraction {
        WideFraction {
            num: self.num.times(&divisor.denominator().unsigned_abs().into()),
            den: self.den.times(&divisor.numerator().unsigned_abs().into()),
        }
    }

    /// So many times the value.
    pub(crate) fn times(&self, count: u32) -> WideFraction {
        WideFraction {
            num: self.num.times(&u64::from(count).into()),
            den: self.den.clone(),
        }
    }

    /// The sum.
    #[must_use]
    pub fn plus(&self, other: &WideFraction) -> WideFraction {
        let (left, right) = (self.num.times(&other.den), other.num.times(&self.den));
        WideFraction {
            num: left.plus(&right),
            den: self.den.times(&other.den),
        }
    }

    /// The difference, never below zero.
    #[must_use]
    pub fn less(&self, other: &WideFraction) -> WideFraction {
        let (left, right) = (self.num.times(&other.den), other.num.times(&self.den));
        WideFraction {
            num: left.less(&right),
            den: self.den.times(&other.den),
        }
    }
}

impl From<Load> for WideFraction {
    /// The load in AU.
    fn from(load: Load) -> WideFraction {
        WideFraction::of_parts(load.half_au().unsigned_abs().into(), 2.into())
    }
}

impl Ord for WideFraction {
    fn cmp(&self, other: &WideFraction) -> Ordering {
        let (left, right) = (self.num.times(&other.den), other.num.times(&self.den));
        left.cmp(&right)
    }
}

impl PartialOrd for WideFraction {
    fn partial_cmp(&self, other: &WideFraction) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for WideFraction {
    fn eq(&self, other: &WideFraction) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for WideFraction {}

impl fmt::Debug for WideFraction {
    /// To four places: the parts may have hundreds of digits.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.round(Places::Four))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of(num: u64, den: u64) -> WideFraction {
        WideFraction::of_parts(num.into(), den.into())
    }

    #[test]
    fn rounds_ties_to_the_even_neighbour() {
        for (num, den, printed) in [
            (3125, 1000, "3.12"),
            (3135, 1000, "3.14"),
            (2, 3, "0.67"),
            (0, 7, "0"),
        ] {
            assert_eq!(of(num, den).round(Places::Two).to_string(), printed);
        }
    }

    #[test]
    fn compares_values_not_parts() {
        assert_eq!(of(2, 4), of(1, 2));
        assert!(of(u64::MAX, u64::MAX - 1) > of(1, 1));
        assert_eq!(WideFraction::from(Load::from_au(3)), of(6, 2));
        assert_eq!(of(3, 4).plus(&of(1, 2)), of(5, 4));
        assert_eq!(of(3, 4).less(&of(1, 2)), of(1, 4));
        assert!(of(1, 2).less(&of(3, 4)).is_zero());
        assert_eq!(of(90, 1).over(Fraction::of_parts(3, 5)), of(150, 1));
        assert_eq!(of(1, 2).times(3), of(3, 2));
    }

    proptest! {
        /// [`Fraction`] rounds by division, this by bits.
        #[test]
        fn rounds_as_a_fraction_does(num in 0..1_000_000_000_i64, den in 1..100_000_i64) {
            let wide = of(num.unsigned_abs(), den.unsigned_abs());
            for places in [Places::Whole, Places::Two, Places::Four] {
                let narrow = Fraction::of_parts(num, den).round(places);
                prop_assert_eq!(wide.round(places).to_string(), narrow.to_string());
            }
        }
    }
}
