//! Lengths and masses of exercises, exact in metric and in customary units.
//!
//! 1 yd = 0.9144 m, so 1 in = 2.54 cm, and 1 lb = 0.45359237 kg, all exactly. Source: the international yard
//! and pound agreement of 1 July 1959.

use crate::coded::coded_enum;
use crate::exact::Fraction;

coded_enum! {
    /// A unit in which lengths are entered.
    LengthUnit {
        /// Metres.
        Metre = "m",
        /// Centimetres.
        Centimetre = "cm",
        /// Yards.
        Yard = "yd",
        /// Feet.
        Foot = "ft",
        /// Inches.
        Inch = "in",
    }
}

coded_enum! {
    /// A unit in which masses are entered.
    MassUnit {
        /// Kilograms.
        Kilogram = "kg",
        /// Avoirdupois pounds.
        Pound = "lb",
    }
}

/// A length: the leg of a run, a carry or a shuttle. Kept in tenths of a millimetre, of which an inch and
/// a yard are whole numbers. Up to 1,000 km.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Length(i64);

/// A mass that is lifted or carried. Kept in hundredths of a milligram, of which a pound is a whole
/// number. Up to 10,000 kg.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mass(i64);

/// Why a number is not a length or a mass of an exercise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a length is 0 to 1,000 km and a mass 0 to 10,000 kg")]
pub struct MeasureError;

impl LengthUnit {
    /// So many of the unit.
    ///
    /// # Errors
    /// [`MeasureError`] outside 0 to 1,000 km.
    ///
    /// ```
    /// use plimsoll_domain::measure::{Length, LengthUnit};
    /// assert_eq!(LengthUnit::Foot.of(3), Length::yards(1));
    /// ```
    pub fn of(self, count: i64) -> Result<Length, MeasureError> {
        units(count, self.parts(), Length::MAX).map(Length)
    }

    /// So many hundredths of the unit in metres, exactly.
    #[must_use]
    pub const fn hundredths_to_metres(self, hundredths: i32) -> Fraction {
        Fraction::over::<{ 100 * Length::METRE }>(hundredths as i64 * self.parts())
    }

    /// One of it in the parts that lengths are kept in.
    const fn parts(self) -> i64 {
        match self {
            LengthUnit::Metre => Length::METRE,
            LengthUnit::Centimetre => Length::CENTIMETRE,
            LengthUnit::Yard => Length::YARD,
            LengthUnit::Foot => 12 * Length::INCH,
            LengthUnit::Inch => Length::INCH,
        }
    }
}

impl MassUnit {
    /// So many hundredths of the unit in kilograms, exactly.
    #[must_use]
    pub const fn hundredths_to_kilograms(self, hundredths: i32) -> Fraction {
        let parts = match self {
            MassUnit::Kilogram => 1000 * Mass::GRAM,
            MassUnit::Pound => Mass::POUND,
        };
        Fraction::over::<{ 100 * 1000 * Mass::GRAM }>(hundredths as i64 * parts)
    }
}

impl Length {
    const CENTIMETRE: i64 = 100;
    const METRE: i64 = 100 * Self::CENTIMETRE;
    const INCH: i64 = 254;
    const YARD: i64 = 36 * Self::INCH;
    const MAX: i64 = 1_000_000 * Self::METRE;

    /// So many centimetres.
    ///
    /// # Errors
    /// [`MeasureError`] outside 0 to 1,000 km, as for every unit.
    pub fn centimetres(count: i64) -> Result<Length, MeasureError> {
        units(count, Self::CENTIMETRE, Self::MAX).map(Length)
    }

    /// So many metres.
    ///
    /// # Errors
    /// [`MeasureError`].
    ///
    /// ```
    /// use plimsoll_domain::{Places, measure::Length};
    /// let pool = Length::yards(25).unwrap();
    /// assert_eq!(pool.to_metres().round(Places::Two).to_string(), "22.86");
    /// assert!(pool < Length::metres(25).unwrap());
    /// ```
    pub fn metres(count: i64) -> Result<Length, MeasureError> {
        units(count, Self::METRE, Self::MAX).map(Length)
    }

    /// So many inches.
    ///
    /// # Errors
    /// [`MeasureError`].
    pub fn inches(count: i64) -> Result<Length, MeasureError> {
        units(count, Self::INCH, Self::MAX).map(Length)
    }

    /// So many yards.
    ///
    /// # Errors
    /// [`MeasureError`].
    pub fn yards(count: i64) -> Result<Length, MeasureError> {
        units(count, Self::YARD, Self::MAX).map(Length)
    }

    /// The length in metres, exactly.
    #[must_use]
    pub const fn to_metres(self) -> Fraction {
        Fraction::over::<{ Self::METRE }>(self.0)
    }

    pub(crate) const fn times(self, count: u8) -> Length {
        Length(self.0 * count as i64)
    }
}

impl std::iter::Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        Length(lengths.map(|length| length.0).sum())
    }
}

impl Mass {
    const GRAM: i64 = 100_000;
    const POUND: i64 = 45_359_237;
    const MAX: i64 = 10_000_000 * Self::GRAM;

    /// So many grams.
    ///
    /// # Errors
    /// [`MeasureError`] outside 0 to 10,000 kg, as for every unit.
    pub fn grams(count: i64) -> Result<Mass, MeasureError> {
        units(count, Self::GRAM, Self::MAX).map(Mass)
    }

    /// So many avoirdupois pounds.
    ///
    /// # Errors
    /// [`MeasureError`].
    pub fn pounds(count: i64) -> Result<Mass, MeasureError> {
        units(count, Self::POUND, Self::MAX).map(Mass)
    }

    /// The mass in kilograms, exactly.
    #[must_use]
    pub const fn to_kilograms(self) -> Fraction {
        Fraction::over::<{ 1000 * Self::GRAM }>(self.0)
    }
}

fn units(count: i64, unit: i64, max: i64) -> Result<i64, MeasureError> {
    let parts = count.checked_mul(unit).ok_or(MeasureError)?;
    if (0..=max).contains(&parts) {
        Ok(parts)
    } else {
        Err(MeasureError)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(num: i64, den: i64) -> Fraction {
        Fraction::new(num, den).unwrap()
    }

    /// The international yard and pound agreement of 1 July 1959.
    #[test]
    fn customary_units_are_exact() {
        assert_eq!(Length::yards(1).unwrap().to_metres(), of(9144, 10_000));
        assert_eq!(Length::inches(100), Length::centimetres(254));
        assert_eq!(Length::inches(36), Length::yards(1));
        assert_eq!(
            Mass::pounds(1).unwrap().to_kilograms(),
            of(45_359_237, 100_000_000)
        );
        assert_eq!(Mass::grams(20_000).unwrap().to_kilograms(), of(20, 1));
    }

    #[test]
    fn hundredths_of_a_unit_are_exact_too() {
        let metres = |unit: LengthUnit| unit.hundredths_to_metres(150);
        assert_eq!(metres(LengthUnit::Inch), of(381, 10_000));
        assert_eq!(metres(LengthUnit::Yard), of(13_716, 10_000));
        assert_eq!(metres(LengthUnit::Centimetre), of(15, 1000));
        assert_eq!(
            MassUnit::Pound.hundredths_to_kilograms(250),
            of(1_133_980_925, 1_000_000_000)
        );
        assert_eq!(MassUnit::Kilogram.hundredths_to_kilograms(1), of(1, 100));
        for unit in LengthUnit::ALL {
            let whole = unit.of(7).unwrap().to_metres();
            assert_eq!(whole, unit.hundredths_to_metres(700), "{}", unit.code());
        }
    }

    #[test]
    fn stays_within_what_an_exercise_has() {
        assert!(Length::metres(1_000_000).is_ok());
        for outside in [-1, 1_000_001, i64::MAX] {
            assert_eq!(Length::metres(outside), Err(MeasureError));
        }
        assert!(Mass::grams(10_000_000).is_ok());
        assert_eq!(Mass::grams(10_000_001), Err(MeasureError));
        assert_eq!(Mass::pounds(-1), Err(MeasureError));
    }
}
