//! A way in legs: how far, in which direction, and whether it ends where it began.

use crate::coded::coded_enum;
use crate::measure::{Length, LengthUnit};

coded_enum! {
    /// In which direction a leg goes, as seen at the start.
    Direction {
        /// Forward.
        Forward = "forward",
        /// Back.
        Back = "back",
        /// To the left.
        Left = "left",
        /// To the right.
        Right = "right",
    }
}

/// A leg of a way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Leg {
    /// In which direction.
    pub direction: Direction,
    /// How many of the way's unit, 1 to 10,000.
    pub count: u16,
}

/// A measured way: 1 to 50 legs in one unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Legs {
    legs: Vec<Leg>,
    unit: LengthUnit,
    returns_to_start: bool,
}

/// Why legs make no way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LegsError {
    /// None, or too many.
    #[error("a way has 1 to 50 legs")]
    Count,
    /// One is nothing, or too long.
    #[error("a leg is 1 to 10,000 of its unit")]
    Leg {
        /// Its place, from 0.
        at: usize,
    },
    /// It should end where it began, and does not.
    #[error("the way ends {forward} forward and {right} to the right of its start")]
    NotBack {
        /// How far forward of the start it ends, in its unit; negative behind.
        forward: i32,
        /// How far to the right; negative to the left.
        right: i32,
    },
}

impl Legs {
    /// The most legs.
    pub const MOST: usize = 50;
    /// The longest leg, in its unit.
    pub const LONGEST: u16 = 10_000;

    /// A way.
    ///
    /// # Errors
    /// [`LegsError`].
    pub fn new(
        legs: Vec<Leg>,
        unit: LengthUnit,
        returns_to_start: bool,
    ) -> Result<Legs, LegsError> {
        if !(1..=Self::MOST).contains(&legs.len()) {
            return Err(LegsError::Count);
        }
        let outside = |leg: &Leg| !(1..=Self::LONGEST).contains(&leg.count);
        if let Some(at) = legs.iter().position(outside) {
            return Err(LegsError::Leg { at });
        }
        let way = Legs {
            legs,
            unit,
            returns_to_start,
        };
        let (forward, right) = way.net();
        if returns_to_start && (forward, right) != (0, 0) {
            return Err(LegsError::NotBack { forward, right });
        }
        Ok(way)
    }

    /// Its legs.
    #[must_use]
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// Their unit.
    #[must_use]
    pub const fn unit(&self) -> LengthUnit {
        self.unit
    }

    /// Whether it is meant to end where it began.
    #[must_use]
    pub const fn returns_to_start(&self) -> bool {
        self.returns_to_start
    }

    /// How long it is, there and back.
    #[must_use]
    pub fn length(&self) -> Length {
        let count: i64 = self.legs.iter().map(|leg| i64::from(leg.count)).sum();
        // 50 legs of 10,000 m are within what a length can be.
        self.unit.of(count).unwrap_or_default()
    }

    /// How far it ends forward of its start, and to the right of it, in its unit.
    #[must_use]
    pub fn net(&self) -> (i32, i32) {
        self.legs.iter().fold((0, 0), |(forward, right), leg| {
            let count = i32::from(leg.count);
            match leg.direction {
                Direction::Forward => (forward + count, right),
                Direction::Back => (forward - count, right),
                Direction::Left => (forward, right - count),
                Direction::Right => (forward, right + count),
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use Direction::{Back, Forward, Left, Right};

    use super::*;
    use crate::exact::Fraction;

    fn way(legs: &[(Direction, u16)]) -> Result<Legs, LegsError> {
        let legs = legs
            .iter()
            .map(|&(direction, count)| Leg { direction, count });
        Legs::new(legs.collect(), LengthUnit::Yard, true)
    }

    /// Common practice, no source; the unit by the international yard and pound agreement of 1 July 1959.
    #[test]
    fn ways_there_and_back_and_to_the_sides() {
        let carried = way(&[(Forward, 20), (Back, 20), (Right, 10), (Left, 10)]).unwrap();
        assert_eq!(carried.length(), Length::yards(60).unwrap());
        assert_eq!(
            Some(carried.length().to_metres()),
            Fraction::new(54_864, 1000)
        );
        assert_eq!(carried.net(), (0, 0));
        let sideways = way(&[(Right, 10), (Left, 10), (Forward, 5), (Back, 5)]).unwrap();
        assert_eq!(
            Some(sideways.length().to_metres()),
            Fraction::new(27_432, 1000)
        );
        assert_eq!(sideways.net(), (0, 0));
    }

    #[test]
    fn what_should_end_at_its_start_does() {
        let aside = way(&[(Forward, 20), (Left, 20)]);
        assert_eq!(
            aside,
            Err(LegsError::NotBack {
                forward: 20,
                right: -20
            })
        );
        let legs = vec![Leg {
            direction: Forward,
            count: 20,
        }];
        assert!(Legs::new(legs, LengthUnit::Metre, false).is_ok());
    }

    #[test]
    fn legs_are_few_and_measured() {
        assert_eq!(way(&[]), Err(LegsError::Count));
        assert_eq!(way(&[(Forward, 1); 51]), Err(LegsError::Count));
        for outside in [0, 10_001] {
            let second = way(&[(Forward, 1), (Back, outside)]);
            assert_eq!(second, Err(LegsError::Leg { at: 1 }));
        }
    }
}
