//! Tests that the trade knows by name, each with unit, direction, sides, and what no trial of it can be.
//!
//! The ranges are limits of measuring, not of performance: nobody hops over 4 m on one leg or runs 10 m in less than 1.3 s. Common
//! practice, no source. The hop tests: Noyes FR, et al. (1991) Am J Sports Med 19(5):513-518 (value from memory).

use crate::test_trial::{Better, Side, TrialValue};

/// A test that is known by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KnownTest {
    /// Its name.
    pub code: &'static str,
    /// The unit of its trials.
    pub unit: &'static str,
    /// Which way is better.
    pub better: Better,
    /// Whether each side is tested by itself.
    pub each_side: bool,
    /// The least and the most a trial can be, in tenths of the unit.
    allowed_tenths: (u16, u16),
}

/// Every test that is known by name.
#[rustfmt::skip] // One test a line.
pub static KNOWN_TESTS: [KnownTest; 10] = [
    known("single_hop_distance", "cm", Better::Higher, true, (100, 4_000)),
    known("triple_hop_distance", "cm", Better::Higher, true, (300, 12_000)),
    known("crossover_hop_distance", "cm", Better::Higher, true, (300, 12_000)),
    known("timed_6m_hop", "s", Better::Lower, true, (10, 200)),
    known("single_leg_jump_height", "cm", Better::Higher, true, (10, 1_000)),
    known("knee_extension_torque", "Nm/kg", Better::Higher, true, (1, 60)),
    known("knee_flexion_torque", "Nm/kg", Better::Higher, true, (1, 60)),
    known("countermovement_jump_height", "cm", Better::Higher, false, (30, 1_200)),
    known("standing_long_jump_distance", "cm", Better::Higher, false, (200, 4_000)),
    known("sprint_10m", "s", Better::Lower, false, (13, 100)),
];

const fn known(
    code: &'static str,
    unit: &'static str,
    better: Better,
    each_side: bool,
    allowed_tenths: (u16, u16),
) -> KnownTest {
    KnownTest {
        code,
        unit,
        better,
        each_side,
        allowed_tenths,
    }
}

impl KnownTest {
    /// The test of this name.
    #[must_use]
    pub fn named(code: &str) -> Option<&'static KnownTest> {
        KNOWN_TESTS.iter().find(|test| test.code == code)
    }

    /// The least and the most a trial can be, in the unit.
    #[must_use]
    pub fn allowed(&self) -> (f64, f64) {
        let (least, most) = self.allowed_tenths;
        (f64::from(least) / 10.0, f64::from(most) / 10.0)
    }

    /// Whether a trial of it can be this.
    #[must_use]
    pub fn allows(&self, trial: TrialValue) -> bool {
        let (least, most) = self.allowed_tenths;
        (i64::from(least) * 100..=i64::from(most) * 100).contains(&trial.thousandths())
    }

    /// The sides it is made on.
    #[must_use]
    pub const fn sides(&self) -> &'static [Side] {
        if self.each_side {
            &[Side::Left, Side::Right]
        } else {
            &[Side::Both]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_and_are_there_once() {
        for test in &KNOWN_TESTS {
            assert_eq!(KnownTest::named(test.code), Some(test));
        }
        assert_eq!(KnownTest::named("hop"), None);
    }

    #[test]
    fn impossible_trials_are_told() {
        let allows = |code, text| {
            let test = KnownTest::named(code).unwrap();
            test.allows(TrialValue::parse(text).unwrap())
        };
        assert!(allows("single_hop_distance", "400"));
        assert!(!allows("single_hop_distance", "400.001"));
        assert!(allows("sprint_10m", "1.3"));
        assert!(!allows("sprint_10m", "1.299"));
        let hop = KnownTest::named("single_hop_distance").unwrap();
        assert_eq!(hop.allowed(), (10.0, 400.0));
    }
}
