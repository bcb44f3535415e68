//! Decimal numbers: rounded figures, and limits as they were written.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use super::{Fraction, Places, Root};

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
    pub const fn hundredths(hundredths: i32) -> Decimal {
        Decimal {
            unscaled: hundredths as i64,
            places: Places::Two,
        }
    }

    /// A rounded value. Loads are far from the ends of 64 bits; a value beyond them, which only a
    /// fraction made by hand can have, is held at the end.
    pub(super) fn rounded(unscaled: i128, places: Places) -> Decimal {
        let held = unscaled.clamp(i128::from(i64::MIN), i128::from(i64::MAX));
        Decimal {
            unscaled: i64::try_from(held).unwrap_or(i64::MAX),
            places,
        }
    }

    /// The same value as a fraction.
    #[must_use]
    pub const fn to_fraction(self) -> Fraction {
        Fraction::of_parts(self.unscaled, self.places.scale())
    }

    /// The same value as a root, to compare a figure with a limit.
    pub(crate) const fn to_root(self) -> Root {
        let scale = self.places.scale();
        Root::new(self.unscaled, Fraction::of_parts(1, scale * scale))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_prints_without_trailing_zeros() {
        for (text, printed) in [
            ("1.5", "1.5"),
            ("1.50", "1.5"),
            ("-0.25", "-0.25"),
            ("007", "7"),
        ] {
            assert_eq!(text.parse::<Decimal>().unwrap().to_string(), printed);
        }
        assert_eq!(Decimal::hundredths(150), "1.5000".parse().unwrap());
        assert_eq!("0.1".parse::<Decimal>().unwrap().to_f64(), 0.1);
    }

    #[test]
    fn refuses_what_is_not_a_short_decimal() {
        for text in [
            "",
            "-",
            ".",
            "1.",
            ".5",
            "1.23456",
            "1e3",
            "+1",
            "1,5",
            "1234567890",
            "--1",
            "\u{663}",
        ] {
            assert_eq!(text.parse::<Decimal>(), Err(DecimalError), "{text}");
        }
    }

    #[test]
    fn orders_by_value_whatever_the_places() {
        let written: Decimal = "1.5001".parse().unwrap();
        assert!(Decimal::hundredths(150) < written);
        assert_eq!(Decimal::hundredths(-5).to_string(), "-0.05");
    }

    #[test]
    fn holds_a_value_beyond_64_bits_at_the_end() {
        assert_eq!(Decimal::rounded(i128::MAX, Places::Two).unscaled, i64::MAX);
        assert_eq!(Decimal::rounded(i128::MIN, Places::Two).unscaled, i64::MIN);
    }
}
