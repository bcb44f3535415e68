//! Mean and standard deviation of whole numbers, exact.
//!
//! For n values with sum S and sum of squares Q: mean `S / n`; variance `(nQ - S^2) / n^2`
//! (population) or `(nQ - S^2) / (n (n - 1))` (sample). The difference `nQ - S^2` is formed in
//! integers, so nothing cancels and "all equal" is exactly zero.

use crate::coded::coded_enum;
use crate::exact::{Fraction, Root};
use crate::load::Load;

coded_enum! {
    /// The divisor of a standard deviation.
    Divisor {
        /// n - 1.
        Sample = "sample",
        /// n.
        Population = "population",
    }
}

/// The count, sum and sum of squares of some loads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Moments {
    count: i64,
    sum: i64,
    squares: i128,
}

impl Moments {
    /// Of these loads.
    pub fn of(loads: impl IntoIterator<Item = Load>) -> Moments {
        loads
            .into_iter()
            .fold(Moments::default(), |moments, load| Moments {
                count: moments.count + 1,
                sum: moments.sum + load.half_au(),
                squares: moments.squares + i128::from(load.half_au()).pow(2),
            })
    }

    /// How many loads.
    #[must_use]
    pub const fn count(&self) -> i64 {
        self.count
    }

    /// Their sum in half-AU.
    pub(crate) const fn sum(&self) -> i64 {
        self.sum
    }

    /// `nQ - S^2` in half-AU squared: n^2 times the population variance. `None` where it exceeds
    /// 64 bits, which loads within [`Load::DAY_MAX`] a day cannot reach.
    pub(crate) fn deviation(&self) -> Option<i64> {
        let squared_sum = i128::from(self.sum).pow(2);
        i64::try_from(i128::from(self.count) * self.squares - squared_sum).ok()
    }

    /// The mean in AU; `None` of no loads.
    #[must_use]
    pub fn mean(&self) -> Option<Fraction> {
        Fraction::new(self.sum, 2 * self.count)
    }

    /// The standard deviation in AU; `None` where the divisor is zero.
    #[must_use]
    pub fn standard_deviation(&self, divisor: Divisor) -> Option<Root> {
        let divisor = match divisor {
            Divisor::Sample => self.count - 1,
            Divisor::Population => self.count,
        };
        let square = Fraction::new(self.deviation()?, 4 * self.count * divisor)?;
        Some(Root::new(1, square))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deviation_needs_a_divisor() {
        let one = Moments::of([Load::from_au(300)]);
        assert_eq!(one.standard_deviation(Divisor::Sample), None);
        assert_eq!(
            one.standard_deviation(Divisor::Population),
            Some(Root::new(1, Fraction::ZERO))
        );
        assert_eq!(Moments::default().mean(), None);
        assert_eq!(
            Moments::default().standard_deviation(Divisor::Population),
            None
        );
    }

    #[test]
    fn equal_loads_have_no_deviation_at_all() {
        let moments = Moments::of([Load::from_half_au(999_999_999).unwrap(); 1000]);
        assert_eq!(moments.deviation(), Some(0));
    }
}
