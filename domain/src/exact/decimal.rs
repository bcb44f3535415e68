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
    pub fn hundredths(hundredths: i32) -> Decimal {
        Decimal {
            unscaled: i64::from(hundredths),
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
