//! One item of a session: an exercise and its dose.

use super::{Extent, Legs, Weight};
use crate::coded::coded_enum;
use crate::contacts::{Exercise, Landing, Reps, Sets, Work};
use crate::exercises::{CatalogueExercise, ExerciseCode, ExerciseSides};

coded_enum! {
    /// The one side that an item is done on.
    OneSide {
        /// The left one.
        Left = "left",
        /// The right one.
        Right = "right",
    }
}

/// A whole number of seconds within a range.
macro_rules! seconds {
    ($(#[$doc:meta])* $name:ident $low:literal to $high:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(u16);

        impl $name {
            /// From a whole number; `None` outside the range.
            #[must_use]
            pub fn new(seconds: i64) -> Option<$name> {
                let seconds = u16::try_from(seconds).ok()?;
                ($low..=$high).contains(&seconds).then_some($name(seconds))
            }

            /// The number.
            #[must_use]
            pub const fn get(self) -> u16 {
                self.0
            }
        }
    };
}

seconds! {
    /// Seconds of work in a set, 5 to 300.
    WorkSeconds 5 to 300
}
seconds! {
    /// Seconds for which each repetition is held, 1 to 60.
    HoldSeconds 1 to 60
}
seconds! {
    /// Seconds of rest after a set, 0 to 900.
    RestSeconds 0 to 900
}

/// What a set is: exactly one of these.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Dose {
    /// Repetitions, of a side in exercises of one side, each held for so long where that is said.
    Reps(Reps, Option<HoldSeconds>),
    /// A time.
    Seconds(WorkSeconds),
    /// A way.
    Distance(Legs),
}

/// A text that is empty, too long, or has control characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "a text has at least one character and no more than its limit, none of them a control character"
)]
pub struct TextError;

/// A line of text of at most so many characters.
macro_rules! line_of_text {
    ($(#[$doc:meta])* $name:ident $longest:literal) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub struct $name(String);

        impl $name {
            /// The most characters.
            pub const LONGEST: usize = $longest;

            /// From a text.
            ///
            /// # Errors
            /// [`TextError`].
            pub fn new(text: &str) -> Result<$name, TextError> {
                let length = text.chars().count();
                let plain = !text.chars().any(char::is_control) && !text.trim().is_empty();
                if plain && length <= Self::LONGEST {
                    Ok($name(text.to_owned()))
                } else {
                    Err(TextError)
                }
            }

            /// The text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }
    };
}

line_of_text! {
    /// The name of a band, as the club calls it: 1 to 40 characters.
    Band 40
}
line_of_text! {
    /// What a coach adds to an item for everybody who does it, such as a cue: 1 to 200 characters.
    ItemNote 200
}

/// What an item is done against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Against {
    /// A weight.
    Weight(Weight),
    /// A band.
    Band(Band),
}

/// One item of a session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// The code of the exercise.
    pub exercise: ExerciseCode,
    /// How many sets or rounds.
    pub sets: Sets,
    /// What each is.
    pub dose: Dose,
    /// The one side that it is done on; `None` where it is done as the exercise is counted.
    pub side: Option<OneSide>,
    /// The load or the band.
    pub against: Option<Against>,
    /// The rest after a set.
    pub rest: Option<RestSeconds>,
    /// How far apart things stand.
    pub set_up: Option<Extent>,
    /// How high something is.
    pub height: Option<Extent>,
    /// What the coach adds, for everybody who does it.
    pub note: Option<ItemNote>,
}

impl Item {
    /// Whether it can be done on the side it names: only an exercise that is counted for each side has sides.
    #[must_use]
    pub fn has_side_of(&self, exercise: &CatalogueExercise) -> bool {
        self.side.is_none() || exercise.sides == ExerciseSides::Each
    }

    /// The item as contacts are counted of it. Of an exercise that is in no catalogue any more nobody knows how it lands.
    #[must_use]
    pub fn planned(&self, exercise: Option<&CatalogueExercise>) -> Exercise {
        let landing = exercise.and_then(|exercise| exercise.landing);
        let landing = match (landing, self.side) {
            (Some(Landing::EachFoot), Some(OneSide::Left)) => Some(Landing::LeftFoot),
            (Some(Landing::EachFoot), Some(OneSide::Right)) => Some(Landing::RightFoot),
            (landing, _) => landing,
        };
        Exercise {
            sets: self.sets,
            work: match &self.dose {
                Dose::Reps(reps, _) => Work::Reps(*reps),
                Dose::Seconds(_) => Work::Time,
                Dose::Distance(legs) => Work::Distance(Some(legs.length())),
            },
            landing,
            hands: exercise.map_or(0, |exercise| exercise.hands),
            loaded: self.against.is_some() || exercise.is_some_and(|exercise| exercise.loaded),
        }
    }

    /// Seconds under way in all sets, of a side in exercises of one side: those of the sets, or of what is held in each repetition.
    /// `None` where it is no matter of time.
    #[must_use]
    pub fn seconds(&self) -> Option<u32> {
        let sets = u32::from(self.sets.get());
        match &self.dose {
            Dose::Reps(reps, hold) => {
                hold.map(|hold| sets * u32::from(reps.get()) * u32::from(hold.get()))
            }
            Dose::Seconds(seconds) => Some(sets * u32::from(seconds.get())),
            Dose::Distance(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contacts::contacts;
    use crate::exercises::Catalogue;

    fn item(exercise: &str, dose: Dose) -> Item {
        Item {
            exercise: ExerciseCode::parse(exercise).unwrap(),
            sets: Sets::new(3).unwrap(),
            dose,
            side: None,
            against: None,
            rest: None,
            set_up: None,
            height: None,
            note: None,
        }
    }

    fn ten(hold: Option<i64>) -> Dose {
        Dose::Reps(Reps::new(10).unwrap(), hold.and_then(HoldSeconds::new))
    }

    /// Common practice, no source.
    #[test]
    fn what_is_held_in_each_repetition_counts_by_seconds() {
        assert_eq!(item("squat", ten(Some(1))).seconds(), Some(30));
        assert_eq!(item("squat", ten(None)).seconds(), None);
        let timed = Dose::Seconds(WorkSeconds::new(20).unwrap());
        assert_eq!(item("side_plank", timed).seconds(), Some(60));
    }

    #[test]
    fn a_side_and_a_band_change_what_is_counted() {
        let catalogue = Catalogue::of([]);
        let hops = Item {
            side: Some(OneSide::Left),
            against: Some(Against::Band(Band::new("green").unwrap())),
            ..item("hurdle_hop_one_leg", ten(None))
        };
        let exercise = catalogue.get(&hops.exercise);
        assert!(hops.has_side_of(exercise.unwrap()));
        let found = contacts(&[hops.planned(exercise)]);
        assert_eq!(
            (found.left_leg(), found.right_leg(), found.loaded),
            (30, 0, 30)
        );
        let gone = contacts(&[hops.planned(None)]);
        assert_eq!((gone.events(), gone.not_known), (0, 1));
        let squat = Item {
            side: Some(OneSide::Left),
            ..item("squat", ten(None))
        };
        assert!(!squat.has_side_of(catalogue.get(&squat.exercise).unwrap()));
    }

    #[test]
    fn seconds_and_names_have_their_ranges() {
        assert!(WorkSeconds::new(4).is_none() && WorkSeconds::new(301).is_none());
        assert!(HoldSeconds::new(0).is_none() && HoldSeconds::new(61).is_none());
        assert_eq!(RestSeconds::new(0).map(RestSeconds::get), Some(0));
        assert!(RestSeconds::new(901).is_none() && RestSeconds::new(-1).is_none());
        for refused in ["", " ", "a\nb", &"x".repeat(41)] {
            assert_eq!(Band::new(refused), Err(TextError), "{refused:?}");
        }
        assert!(ItemNote::new(&"x".repeat(200)).is_ok());
        assert_eq!(ItemNote::new(&"x".repeat(201)), Err(TextError));
    }
}
