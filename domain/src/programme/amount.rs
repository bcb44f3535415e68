//! Amounts as they were entered: a number of at most two decimals, and its unit.

use std::fmt;

use crate::exact::{Decimal, Fraction};
use crate::measure::{LengthUnit, MassUnit};

/// A number above 0 and up to 10,000, of at most two decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Amount(i32);

/// Why a number is no amount of a programme, or too large.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an amount is above 0, within its range, and has at most two decimals")]
pub struct AmountError;

impl Amount {
    const MOST: i32 = 1_000_000;

    /// From a number as it was written.
    ///
    /// # Errors
    /// [`AmountError`].
    ///
    /// ```
    /// use plimsoll_domain::programme::Amount;
    /// assert_eq!(Amount::new("12.50".parse().unwrap()).unwrap().to_string(), "12.5");
    /// assert!(Amount::new("0.125".parse().unwrap()).is_err());
    /// ```
    pub fn new(written: Decimal) -> Result<Amount, AmountError> {
        let exact = written.to_fraction();
        let hundredths = 100 * exact.numerator();
        if hundredths % exact.denominator() != 0 {
            return Err(AmountError);
        }
        match i32::try_from(hundredths / exact.denominator()) {
            Ok(hundredths @ 1..=Self::MOST) => Ok(Amount(hundredths)),
            _ => Err(AmountError),
        }
    }

    /// The number.
    #[must_use]
    pub const fn to_decimal(self) -> Decimal {
        Decimal::hundredths(self.0)
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.to_decimal().fmt(f)
    }
}

/// A weight that is lifted or carried, up to 500 kg.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    amount: Amount,
    unit: MassUnit,
}

impl Weight {
    const MOST_KILOGRAMS: Fraction = Fraction::whole(500);

    /// So much of a unit.
    ///
    /// # Errors
    /// [`AmountError`] above 500 kg.
    pub fn new(amount: Amount, unit: MassUnit) -> Result<Weight, AmountError> {
        let weight = Weight { amount, unit };
        if weight.to_kilograms() > Self::MOST_KILOGRAMS {
            return Err(AmountError);
        }
        Ok(weight)
    }

    /// The number as entered.
    #[must_use]
    pub const fn amount(self) -> Amount {
        self.amount
    }

    /// The unit as entered.
    #[must_use]
    pub const fn unit(self) -> MassUnit {
        self.unit
    }

    /// The weight in kilograms, exactly.
    #[must_use]
    pub const fn to_kilograms(self) -> Fraction {
        self.unit.hundredths_to_kilograms(self.amount.0)
    }
}

/// How far apart, or how high, something is set up, up to 100 m: one length, or from one to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Extent {
    least: Amount,
    most: Option<Amount>,
    unit: LengthUnit,
}

impl Extent {
    const MOST_METRES: Fraction = Fraction::whole(100);

    /// A length, or a range of which the second end is the larger.
    ///
    /// # Errors
    /// [`AmountError`] above 100 m, or where the range does not go up.
    pub fn new(
        least: Amount,
        most: Option<Amount>,
        unit: LengthUnit,
    ) -> Result<Extent, AmountError> {
        let goes_up = most.is_none_or(|most| most > least);
        let extent = Extent { least, most, unit };
        let (_, end) = extent.to_metres();
        if !goes_up || end > Self::MOST_METRES {
            return Err(AmountError);
        }
        Ok(extent)
    }

    /// The length, or the lower end, as entered.
    #[must_use]
    pub const fn least(self) -> Amount {
        self.least
    }

    /// The upper end of a range, as entered.
    #[must_use]
    pub const fn most(self) -> Option<Amount> {
        self.most
    }

    /// The unit as entered.
    #[must_use]
    pub const fn unit(self) -> LengthUnit {
        self.unit
    }

    /// Both ends in metres, exactly; the same twice where it is no range.
    #[must_use]
    pub fn to_metres(self) -> (Fraction, Fraction) {
        let metres = |amount: Amount| self.unit.hundredths_to_metres(amount.0);
        let least = metres(self.least);
        (least, self.most.map_or(least, metres))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(text: &str) -> Amount {
        Amount::new(text.parse().unwrap()).unwrap()
    }

    fn of(num: i64, den: i64) -> Fraction {
        Fraction::new(num, den).unwrap()
    }

    #[test]
    fn an_amount_is_positive_and_has_two_decimals() {
        for fine in ["0.01", "1", "10000", "7.25"] {
            assert_eq!(amount(fine).to_string(), fine);
        }
        for refused in ["0", "-1", "0.001", "10000.01", "99999999"] {
            let written = refused.parse().unwrap();
            assert_eq!(Amount::new(written), Err(AmountError), "{refused}");
        }
    }

    /// Common practice, no source; the unit by the international yard and pound agreement of 1 July 1959.
    #[test]
    fn a_set_up_distance_in_inches_is_exact_in_centimetres() {
        let inches = Extent::new(amount("6"), Some(amount("12")), LengthUnit::Inch).unwrap();
        assert_eq!(inches.to_metres(), (of(1524, 10_000), of(3048, 10_000)));
        let one = Extent::new(amount("30"), None, LengthUnit::Centimetre).unwrap();
        assert_eq!(one.to_metres(), (of(3, 10), of(3, 10)));
    }

    #[test]
    fn a_range_goes_up_and_a_weight_can_be_lifted() {
        let extent =
            |least, most| Extent::new(amount(least), Some(amount(most)), LengthUnit::Metre);
        assert!(extent("1", "100").is_ok());
        for (least, most) in [("2", "2"), ("2", "1"), ("1", "100.01")] {
            assert_eq!(extent(least, most), Err(AmountError));
        }
        let pounds = |text| Weight::new(amount(text), MassUnit::Pound);
        assert_eq!(
            pounds("2.5").unwrap().to_kilograms(),
            of(1_133_980_925, 1_000_000_000)
        );
        assert!(pounds("1102.31").is_ok(), "499.9994… kg");
        assert_eq!(pounds("1102.32"), Err(AmountError));
        assert_eq!(
            Weight::new(amount("500.01"), MassUnit::Kilogram),
            Err(AmountError)
        );
    }
}
