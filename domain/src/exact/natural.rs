//! Whole numbers of any length, for parts of fractions that outgrow 64 bits.

use std::cmp::Ordering;

const DIGIT_BITS: u32 = 32;
const LOW_DIGIT: u64 = 0xFFFF_FFFF;

/// A whole number of any length, never negative.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Natural {
    /// In base 2^32, the lowest first; the last is not zero.
    digits: Vec<u32>,
}

impl Natural {
    pub fn plus(&self, other: &Natural) -> Natural {
        let length = self.digits.len().max(other.digits.len());
        let mut carry = 0;
        let digits = (0..=length).map(|at| {
            let sum = self.digit(at) + other.digit(at) + carry;
            carry = sum >> DIGIT_BITS;
            low(sum)
        });
        Natural::of(digits.collect())
    }

    /// The difference, never below zero.
    pub fn less(&self, other: &Natural) -> Natural {
        if self <= other {
            return Natural::default();
        }
        let mut borrow = 0;
        let digits = (0..self.digits.len()).map(|at| {
            let (from, taken) = (self.digit(at), other.digit(at) + borrow);
            borrow = u64::from(from < taken);
            low((borrow << DIGIT_BITS) + from - taken)
        });
        Natural::of(digits.collect())
    }

    pub fn times(&self, other: &Natural) -> Natural {
        let mut digits = vec![0; self.digits.len() + other.digits.len()];
        for (at, &digit) in self.digits.iter().enumerate() {
            let mut carry = 0;
            for (place, slot) in digits.iter_mut().skip(at).enumerate() {
                let sum = u64::from(*slot) + u64::from(digit) * other.digit(place) + carry;
                *slot = low(sum);
                carry = sum >> DIGIT_BITS;
            }
        }
        Natural::of(digits)
    }

    fn of(mut digits: Vec<u32>) -> Natural {
        while digits.last() == Some(&0) {
            digits.pop();
        }
        Natural { digits }
    }

    fn digit(&self, at: usize) -> u64 {
        self.digits.get(at).copied().map_or(0, u64::from)
    }
}

const fn low(sum: u64) -> u32 {
    (sum & LOW_DIGIT) as u32
}

impl From<u64> for Natural {
    fn from(value: u64) -> Natural {
        Natural::of(vec![low(value), low(value >> DIGIT_BITS)])
    }
}

impl Ord for Natural {
    fn cmp(&self, other: &Natural) -> Ordering {
        let by_length = self.digits.len().cmp(&other.digits.len());
        by_length.then_with(|| self.digits.iter().rev().cmp(other.digits.iter().rev()))
    }
}

impl PartialOrd for Natural {
    fn partial_cmp(&self, other: &Natural) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of(value: u128) -> Natural {
        let digits = (0..4).map(|at| u32::try_from((value >> (32 * at)) & 0xFFFF_FFFF).unwrap());
        Natural::of(digits.collect())
    }

    #[test]
    fn grows_beyond_any_machine_word() {
        let power = |exponent| (0..exponent).fold(of(1), |power, _| power.times(&of(27)));
        assert_eq!(power(26), of(27_u128.pow(26)));
        // 27^40 = (27^20)^2, which 128 bits cannot hold.
        assert_eq!(power(40), power(20).times(&power(20)));
        assert_eq!(power(41).less(&power(40)), power(40).times(&of(26)));
    }

    proptest! {
        #[test]
        fn agrees_with_128_bits(a: u64, b: u64, c: u64) {
            let (long, other) = (u128::from(a) * u128::from(b), u128::from(c));
            prop_assert_eq!(Natural::from(a).times(&b.into()), of(long));
            prop_assert_eq!(of(long / 2).plus(&of(other)), of(long / 2 + other));
            prop_assert_eq!(of(long).less(&of(other)), of(long.saturating_sub(other)));
            prop_assert_eq!(of(long).cmp(&of(other)), long.cmp(&other));
            prop_assert_eq!(of(other).less(&of(long)), of(other.saturating_sub(long)));
        }
    }
}
