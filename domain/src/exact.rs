//! Exact numbers: fractions, roots of fractions, and the decimals they are rounded to.
//!
//! A figure stays exact until its last rounding, so that a limit is compared with no
//! floating-point error and a tie rounds the same way everywhere. Numerators and denominators are
//! 64 bits wide and products are formed in 128, so comparing two fractions cannot overflow.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use crate::units::Load;

/// Decimal places of a printed figure: two for percentages and training strain, four for the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Places {
    /// Whole numbers, for sentences.
    Whole,
    /// Hundredths.
    Two,
    /// Ten-thousandths.
    Four,
}

impl Places {
    const fn scale(self) -> i64 {
        match self {
            Places::Whole => 1,
            Places::Two => 100,
            Places::Four => 10_000,
        }
    }

    /// Rounds a figure that exists only as a float (the exponential means), ties to even.
    #[must_use]
    pub fn round_float(self, value: f64) -> f64 {
        let scale = self.scale() as f64;
        (value * scale).round_ties_even() / scale
    }
}

/// A decimal number, `unscaled / 10^places`: a rounded figure, or a limit as it was written.
///
/// Printed without trailing zeros: `1.5`, `2010`, `3582.55`.
#[derive(Clone, Copy, Debug)]
pub struct Decimal {
    unscaled: i64,
    places: Places,
}

/// Why a text is not a [`Decimal`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a decimal number has 1 to 9 digits before the point and at most 4 after it")]
pub struct DecimalError;

impl Decimal {
    /// A number given in hundredths: `Decimal::hundredths(150)` is 1.5.
    #[must_use]
    pub fn hundredths(hundredths: i32) -> Decimal {
        Decimal {
            unscaled: i64::from(hundredths),
            places: Places::Two,
        }
    }

    /// A rounded value. Loads are far from the ends of 64 bits; a value beyond them, which only a
    /// fraction made by hand can have, is held at the end.
    fn rounded(unscaled: i128, places: Places) -> Decimal {
        let held = unscaled.clamp(i128::from(i64::MIN), i128::from(i64::MAX));
        Decimal {
            unscaled: i64::try_from(held).unwrap_or(i64::MAX),
            places,
        }
    }

    /// The same value as a fraction.
    #[must_use]
    pub const fn to_fraction(self) -> Fraction {
        Fraction {
            num: self.unscaled,
            den: self.places.scale(),
        }
    }

    /// The same value as a root, to compare a figure with a limit.
    pub(crate) const fn to_root(self) -> Root {
        let scale = self.places.scale();
        Root {
            factor: self.unscaled,
            square: Fraction {
                num: 1,
                den: scale * scale,
            },
        }
    }

    /// The nearest `f64`; its shortest decimal form is the decimal itself.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        self.unscaled as f64 / self.places.scale() as f64
    }
}

impl PartialEq for Decimal {
    fn eq(&self, other: &Decimal) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Decimal {}

impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Decimal) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Decimal {
    fn cmp(&self, other: &Decimal) -> Ordering {
        self.to_fraction().cmp(&other.to_fraction())
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scale = self.places.scale().unsigned_abs();
        let magnitude = self.unscaled.unsigned_abs();
        let sign = if self.unscaled < 0 { "-" } else { "" };
        let width = scale.ilog10() as usize;
        let fraction = format!("{:0width$}", magnitude % scale);
        let fraction = fraction.trim_end_matches('0');
        let point = if fraction.is_empty() { "" } else { "." };
        write!(f, "{sign}{}{point}{fraction}", magnitude / scale)
    }
}

impl FromStr for Decimal {
    type Err = DecimalError;

    fn from_str(text: &str) -> Result<Decimal, DecimalError> {
        let digits = text.strip_prefix('-').unwrap_or(text);
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
        if !(1..=9).contains(&whole.len()) || !(1..=4).contains(&fraction.len()) {
            return Err(DecimalError);
        }
        if !whole
            .bytes()
            .chain(fraction.bytes())
            .all(|b| b.is_ascii_digit())
        {
            return Err(DecimalError);
        }
        let magnitude: i64 = format!("{whole}{fraction:0<4}")
            .parse()
            .map_err(|_| DecimalError)?;
        let unscaled = if digits.len() == text.len() {
            magnitude
        } else {
            -magnitude
        };
        Ok(Decimal {
            unscaled,
            places: Places::Four,
        })
    }
}

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

    /// This many times a load, in AU.
    pub(crate) const fn of(self, load: Load) -> Fraction {
        Fraction {
            num: self.num * load.half_au(),
            den: 2 * self.den,
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

    /// The value with its sign turned.
    pub(crate) const fn negated(self) -> Fraction {
        Fraction {
            num: -self.num,
            ..self
        }
    }

    /// The value rounded half-even.
    #[must_use]
    pub fn round(self, places: Places) -> Decimal {
        let den = i128::from(self.den);
        let scaled = i128::from(self.num) * i128::from(places.scale());
        let (floor, rest) = (scaled.div_euclid(den), scaled.rem_euclid(den));
        let up = match (2 * rest).cmp(&den) {
            Ordering::Less => false,
            Ordering::Equal => floor % 2 != 0,
            Ordering::Greater => true,
        };
        Decimal::rounded(floor + i128::from(up), places)
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
        let square = Fraction {
            den: 4 * self.square.den,
            ..self.square
        };
        Root { square, ..self }
    }

    /// The value rounded half-even: the decimal whose neighbouring midpoints enclose the square.
    #[must_use]
    pub fn round(self, places: Places) -> Decimal {
        let scale = i128::from(places.scale());
        let den = i128::from(self.square.den);
        let target =
            4 * i128::from(self.factor).pow(2) * scale.pow(2) * i128::from(self.square.num);
        let midpoint = |twice: i128| twice * twice * den;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "an estimate, corrected exactly below"
        )]
        let mut nearest = (self.to_f64().abs() * places.scale() as f64).round() as i128;
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
            i128::from(self.factor).pow(2) * i128::from(self.square.num) * i128::from(den);
        magnitude * i128::from(self.factor.signum())
    }
}

impl Ord for Root {
    fn cmp(&self, other: &Root) -> Ordering {
        self.signed_square(other.square.den)
            .cmp(&other.signed_square(self.square.den))
    }
}

impl PartialOrd for Root {
    fn partial_cmp(&self, other: &Root) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Root {
    fn eq(&self, other: &Root) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Root {}

impl fmt::Debug for Root {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} x sqrt({:?})", self.factor, self.square)
    }
}
