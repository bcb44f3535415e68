//! Exact rational numbers.

use std::cmp::Ordering;
use std::fmt;

use super::{Decimal, Places};
use crate::load::Load;

/// An exact rational number. Equality and order compare values by cross-multiplication, so a
/// fraction is kept as it was formed and not reduced.
///
/// ```
/// use plimsoll_domain::{Fraction, Places};
/// let ratio = Fraction::new(4 * 2810, 2810 + 5285).unwrap();
/// assert_eq!(ratio.round(Places::Four).to_string(), "1.3885");
/// ```
#[derive(Clone, Copy)]
pub struct Fraction {
    num: i64,
    /// Always positive.
    den: i64,
}

impl Fraction {
    /// Zero.
    pub const ZERO: Fraction = Fraction::whole(0);

    /// A whole number.
    #[must_use]
    pub const fn whole(num: i64) -> Fraction {
        Fraction { num, den: 1 }
    }

    /// `num / den`; `None` unless `den` is positive: a figure without a denominator does not exist.
    #[must_use]
    pub const fn new(num: i64, den: i64) -> Option<Fraction> {
        if den > 0 {
            Some(Fraction { num, den })
        } else {
            None
        }
    }

    /// `num / den`, for a `den` known to be positive.
    pub(crate) const fn of_parts(num: i64, den: i64) -> Fraction {
        Fraction { num, den }
    }

    /// `num / DEN` for a denominator that is known when the program is compiled.
    pub(crate) const fn over<const DEN: i64>(num: i64) -> Fraction {
        const { assert!(DEN > 0, "a denominator is positive") };
        Fraction { num, den: DEN }
    }

    /// The numerator as it was formed.
    #[must_use]
    pub const fn numerator(self) -> i64 {
        self.num
    }

    /// The denominator as it was formed, always positive.
    #[must_use]
    pub const fn denominator(self) -> i64 {
        self.den
    }

    /// The same value in lowest terms.
    pub(crate) const fn reduced(self) -> Fraction {
        let (mut divisor, mut rest) = (self.den, self.num);
        while rest != 0 {
            (divisor, rest) = (rest, divisor % rest);
        }
        let divisor = divisor.abs();
        Fraction {
            num: self.num / divisor,
            den: self.den / divisor,
        }
    }

    /// This many times a load, in AU.
    pub(crate) const fn of(self, load: Load) -> Fraction {
        Fraction {
            num: self.num * load.half_au(),
            den: 2 * self.den,
        }
    }

    /// The product. Its parts stay within 64 bits for a load and a share of it.
    pub(crate) const fn times(self, other: Fraction) -> Fraction {
        Fraction {
            num: self.num * other.num,
            den: self.den * other.den,
        }
    }

    /// The difference. Its parts stay within 64 bits for a load and a limit on a load.
    pub(crate) const fn less(self, other: Fraction) -> Fraction {
        let num = self.num * other.den - other.num * self.den;
        Fraction {
            num,
            den: self.den * other.den,
        }
    }

    /// The value divided by a positive whole number.
    pub(super) const fn divided(self, divisor: i64) -> Fraction {
        Fraction {
            den: self.den * divisor,
            ..self
        }
    }

    /// The value rounded half-even.
    #[must_use]
    pub fn round(self, places: Places) -> Decimal {
        let (floor, rest) = self.scaled_parts(places.scale());
        let den = i128::from(self.den);
        let up = match (2 * rest).cmp(&den) {
            Ordering::Less => false,
            Ordering::Equal => floor % 2 != 0,
            Ordering::Greater => true,
        };
        Decimal::rounded(floor + i128::from(up), places)
    }

    /// Quotient and remainder of the numerator, so many times as large. It nearly always fits in 64
    /// bits, where the division takes a fraction of the time.
    fn scaled_parts(self, scale: i64) -> (i128, i128) {
        if let Some(scaled) = self.num.checked_mul(scale) {
            let (floor, rest) = (scaled.div_euclid(self.den), scaled.rem_euclid(self.den));
            return (floor.into(), rest.into());
        }
        let scaled = i128::from(self.num) * i128::from(scale);
        let den = i128::from(self.den);
        (scaled.div_euclid(den), scaled.rem_euclid(den))
    }

    /// The nearest `f64`, for comparison with other programs; printed figures use
    /// [`round`](Fraction::round).
    #[must_use]
    pub fn to_f64(self) -> f64 {
        self.num as f64 / self.den as f64
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Fraction) -> Ordering {
        let left = i128::from(self.num) * i128::from(other.den);
        let right = i128::from(other.num) * i128::from(self.den);
        left.cmp(&right)
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Fraction) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Fraction {
    fn eq(&self, other: &Fraction) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Fraction {}

impl fmt::Debug for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.num, self.den)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rounded(num: i64, den: i64, places: Places) -> String {
        Fraction::new(num, den).unwrap().round(places).to_string()
    }

    #[test]
    fn ties_go_to_the_even_neighbour() {
        // 3.125 % to two places, as in 100 x (2970 / 2880 - 1).
        assert_eq!(rounded(100 * 90, 2880, Places::Two), "3.12");
        assert_eq!(rounded(3135, 1000, Places::Two), "3.14");
        assert_eq!(rounded(-3125, 1000, Places::Two), "-3.12");
        assert_eq!(rounded(-3135, 1000, Places::Two), "-3.14");
        assert_eq!(rounded(1, 2, Places::Whole), "0");
        assert_eq!(rounded(3, 2, Places::Whole), "2");
    }

    #[test]
    fn other_values_go_to_the_nearest() {
        assert_eq!(rounded(2, 3, Places::Four), "0.6667");
        assert_eq!(rounded(-2, 3, Places::Four), "-0.6667");
        assert_eq!(rounded(31_250_001, 10_000_000, Places::Two), "3.13");
        assert_eq!(rounded(i64::MAX, 3, Places::Four), "922337203685477.5807");
    }

    #[test]
    fn compares_values_not_parts() {
        let of = |num, den| Fraction::new(num, den).unwrap();
        assert_eq!(of(2, 4), of(1, 2));
        assert!(of(i64::MAX, i64::MAX - 1) > of(i64::MAX - 1, i64::MAX - 1));
        assert!(of(-1, 2) < Fraction::ZERO);
        assert_eq!(of(1, 2).less(of(1, 3)), of(1, 6));
        assert_eq!(of(1, 2).times(of(-1, 3)), of(-1, 6));
    }

    #[test]
    fn is_reduced_to_lowest_terms() {
        for (num, den, lowest) in [
            (150, 250, "3/5"),
            (-150, 250, "-3/5"),
            (0, 250, "0/1"),
            (7, 1, "7/1"),
        ] {
            let reduced = Fraction::new(num, den).unwrap().reduced();
            assert_eq!(format!("{reduced:?}"), lowest);
        }
    }

    #[test]
    fn does_not_exist_without_a_positive_denominator() {
        assert_eq!(Fraction::new(1, 0), None);
        assert_eq!(Fraction::new(1, -1), None);
    }
}
