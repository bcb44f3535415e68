//! Landing contacts of planned exercises.
//!
//! By events a landing on both feet is one contact and a landing on one foot is one; by legs a landing on
//! both feet counts on either. Exercises on one leg are written in repetitions a side. Hands are counted
//! apart, and loaded landings are a part of all. Contacts come from repetitions or from counts: a distance
//! or a time tells none, and the total is then "at least". Landings in games are not known unless they
//! are counted.

use std::ops::Add;

use crate::coded::coded_enum;
use crate::measure::Length;

/// Sets or rounds of an exercise, 1 to 10.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sets(u8);

/// Repetitions in a set, of a side in exercises on one leg, 1 to 50.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Reps(u8);

/// Why a number is not a count of sets or repetitions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an exercise has 1 to 10 sets of 1 to 50 repetitions")]
pub struct CountError;

impl Sets {
    /// From a whole number.
    ///
    /// # Errors
    /// [`CountError`] outside 1 to 10.
    pub fn new(sets: i64) -> Result<Sets, CountError> {
        match u8::try_from(sets) {
            Ok(sets @ 1..=10) => Ok(Sets(sets)),
            _ => Err(CountError),
        }
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }
}

impl Reps {
    /// From a whole number.
    ///
    /// # Errors
    /// [`CountError`] outside 1 to 50.
    pub fn new(reps: i64) -> Result<Reps, CountError> {
        match u8::try_from(reps) {
            Ok(reps @ 1..=50) => Ok(Reps(reps)),
            _ => Err(CountError),
        }
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u8 {
        self.0
    }
}

/// What a set of an exercise is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Repetitions.
    Reps(Reps),
    /// A time.
    Time,
    /// A distance, where its length is measured.
    Distance(Option<Length>),
}

coded_enum! {
    /// How a repetition lands.
    Landing {
        /// Not at all, as in a step down or a carry.
        None = "none",
        /// On both feet together.
        BothFeet = "both_feet",
        /// On one foot, as many repetitions on either side.
        EachFoot = "each_foot",
        /// On the left foot alone.
        LeftFoot = "left_foot",
        /// On the right foot alone.
        RightFoot = "right_foot",
    }
}

/// An exercise as prescribed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exercise {
    /// How many sets or rounds.
    pub sets: Sets,
    /// What each is.
    pub work: Work,
    /// How a repetition lands; `None` where that is not known.
    pub landing: Option<Landing>,
    /// Landings on a hand in a repetition.
    pub hands: u8,
    /// Whether a load is carried.
    pub loaded: bool,
}

/// Landing contacts of one or more exercises, planned or counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Contacts {
    /// Landings on both feet.
    pub both_feet: u32,
    /// Landings on the left foot alone.
    pub left_foot: u32,
    /// Landings on the right foot alone.
    pub right_foot: u32,
    /// Landings on hands.
    pub hands: u32,
    /// Those of all landings on feet that were under load.
    pub loaded: u32,
    /// Exercises whose contacts cannot be told: if any, the others are "at least".
    pub not_known: u32,
}

impl Contacts {
    /// Landings on one foot.
    #[must_use]
    pub const fn one_foot(&self) -> u32 {
        self.left_foot + self.right_foot
    }

    /// All landings on feet, each counted once.
    #[must_use]
    pub const fn events(&self) -> u32 {
        self.both_feet + self.one_foot()
    }

    /// Whether it has landings on feet, or may have some that cannot be told.
    #[must_use]
    pub const fn has_jumps(&self) -> bool {
        self.events() > 0 || self.not_known > 0
    }

    /// Landings that the left leg took.
    #[must_use]
    pub const fn left_leg(&self) -> u32 {
        self.both_feet + self.left_foot
    }

    /// Landings that the right leg took.
    #[must_use]
    pub const fn right_leg(&self) -> u32 {
        self.both_feet + self.right_foot
    }

    fn of(exercise: &Exercise) -> Contacts {
        let lands = exercise.landing != Some(Landing::None) || exercise.hands > 0;
        let (reps, landing) = match (exercise.work, exercise.landing) {
            (Work::Reps(reps), Some(landing)) => (reps, landing),
            _ => {
                return Contacts {
                    not_known: u32::from(lands),
                    ..Contacts::default()
                };
            }
        };
        let count = u32::from(exercise.sets.0) * u32::from(reps.0);
        let (both_feet, left_foot, right_foot) = match landing {
            Landing::None => (0, 0, 0),
            Landing::BothFeet => (count, 0, 0),
            Landing::EachFoot => (0, count, count),
            Landing::LeftFoot => (0, count, 0),
            Landing::RightFoot => (0, 0, count),
        };
        let on_feet = both_feet + left_foot + right_foot;
        Contacts {
            both_feet,
            left_foot,
            right_foot,
            hands: count * u32::from(exercise.hands),
            loaded: if exercise.loaded { on_feet } else { 0 },
            not_known: 0,
        }
    }
}

impl Add for Contacts {
    type Output = Contacts;

    fn add(self, other: Contacts) -> Contacts {
        Contacts {
            both_feet: self.both_feet + other.both_feet,
            left_foot: self.left_foot + other.left_foot,
            right_foot: self.right_foot + other.right_foot,
            hands: self.hands + other.hands,
            loaded: self.loaded + other.loaded,
            not_known: self.not_known + other.not_known,
        }
    }
}

/// The contacts of a session's exercises. Counted ones are added to them.
///
/// ```
/// use plimsoll_domain::contacts::{Exercise, Landing, Reps, Sets, Work, contacts};
/// let hops = Exercise {
///     sets: Sets::new(2).unwrap(),
///     work: Work::Reps(Reps::new(6).unwrap()),
///     landing: Some(Landing::EachFoot),
///     hands: 0,
///     loaded: false,
/// };
/// assert_eq!((contacts(&[hops]).events(), contacts(&[hops]).left_leg()), (24, 12));
/// ```
#[must_use]
pub fn contacts(exercises: &[Exercise]) -> Contacts {
    exercises
        .iter()
        .map(Contacts::of)
        .fold(Contacts::default(), Add::add)
}

/// How far the exercises go that are measured by distance, and how many of those have no measured length:
/// if any, the length is "at least".
#[must_use]
pub fn distance(exercises: &[Exercise]) -> (Length, u32) {
    let legs = exercises.iter().filter_map(|exercise| match exercise.work {
        Work::Distance(leg) => Some(leg.map(|leg| leg.times(exercise.sets.0))),
        Work::Reps(_) | Work::Time => None,
    });
    let not_measured = legs.clone().filter(Option::is_none).count();
    (
        legs.flatten().sum(),
        u32::try_from(not_measured).unwrap_or(u32::MAX),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exercise(sets: i64, work: Work, landing: Option<Landing>) -> Exercise {
        Exercise {
            sets: Sets::new(sets).unwrap(),
            work,
            landing,
            hands: 0,
            loaded: false,
        }
    }

    fn reps(reps: i64) -> Work {
        Work::Reps(Reps::new(reps).unwrap())
    }

    #[test]
    fn legs_and_events_are_counted_by_how_a_repetition_lands() {
        let of = |landing| {
            let found = contacts(&[exercise(3, reps(5), Some(landing))]);
            (found.events(), found.left_leg(), found.right_leg())
        };
        assert_eq!(of(Landing::None), (0, 0, 0));
        assert_eq!(of(Landing::BothFeet), (15, 15, 15));
        assert_eq!(of(Landing::EachFoot), (30, 15, 15));
        assert_eq!(of(Landing::LeftFoot), (15, 15, 0));
        assert_eq!(of(Landing::RightFoot), (15, 0, 15));
    }

    #[test]
    fn only_repetitions_and_counts_tell_contacts() {
        let bounds = Work::Distance(Length::metres(20).ok());
        for work in [bounds, Work::Distance(None), Work::Time] {
            let found = contacts(&[exercise(2, work, Some(Landing::EachFoot))]);
            assert_eq!((found.events(), found.not_known), (0, 1), "{work:?}");
            let carried = contacts(&[exercise(2, work, Some(Landing::None))]);
            assert_eq!(carried, Contacts::default());
        }
        let counted = Contacts {
            left_foot: 9,
            right_foot: 10,
            ..Contacts::default()
        };
        let all = contacts(&[exercise(1, reps(4), Some(Landing::BothFeet))]) + counted;
        assert_eq!((all.events(), all.right_leg(), all.not_known), (23, 14, 0));
    }

    #[test]
    fn hands_and_loads_are_apart() {
        let roll = Exercise {
            hands: 2,
            ..exercise(2, reps(6), Some(Landing::None))
        };
        let squat_jump = Exercise {
            loaded: true,
            ..exercise(3, reps(5), Some(Landing::BothFeet))
        };
        let found = contacts(&[roll, squat_jump]);
        assert_eq!((found.events(), found.hands, found.loaded), (15, 24, 15));
    }

    #[test]
    fn counts_are_those_of_a_sheet() {
        assert!(Sets::new(10).is_ok() && Reps::new(50).is_ok());
        for outside in [0, -1, 300] {
            assert_eq!(Sets::new(outside), Err(CountError));
            assert_eq!(Reps::new(outside), Err(CountError));
        }
        assert_eq!(
            (Sets::new(11), Reps::new(51)),
            (Err(CountError), Err(CountError))
        );
    }
}
