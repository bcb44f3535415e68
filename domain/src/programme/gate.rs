//! Which sign-offs an item needs that are not there.
//!
//! An exercise that has to be taught needs its own; one that needs no teacher needs those of what comes before it. A jump with a load
//! needs its own, or where it gets its load in the programme, that of any exercise that lands so. Common practice, no source. That
//! nothing is missing clears nobody: a sign-off says what somebody saw.

use std::collections::BTreeSet;

use super::Item;
use crate::contacts::Exercise;
use crate::exercises::{Catalogue, CatalogueExercise, ExerciseCode, JumpStep};

/// What is not signed off.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Missing {
    /// Exercises, by code.
    pub exercises: Vec<ExerciseCode>,
    /// A step of the landings of which no exercise is.
    pub step: Option<JumpStep>,
}

impl Missing {
    /// Whether there is nothing.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        self.exercises.is_empty() && self.step.is_none()
    }
}

/// A jump with a load whose sign-off is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnsignedLoad {
    /// That of the exercise, which is loaded itself.
    Exercise(ExerciseCode),
    /// That of any exercise of a step: it is in no catalogue, or gets its load here.
    Step(JumpStep),
}

/// The sign-off that a planned jump with a load needs and that does not stand; `None` too where nothing is jumped, or without a load.
#[must_use]
pub fn unsigned_load(
    exercise: Option<&CatalogueExercise>,
    planned: &Exercise,
    catalogue: &Catalogue,
    standing: &BTreeSet<ExerciseCode>,
) -> Option<UnsignedLoad> {
    let step = JumpStep::of(planned.landing?, planned.loaded).filter(|_| planned.loaded)?;
    match exercise.filter(|one| one.loaded) {
        Some(one) => {
            let missing = !standing.contains(&one.code);
            missing.then(|| UnsignedLoad::Exercise(one.code.clone()))
        }
        None => {
            let mut signed = standing.iter().filter_map(|code| catalogue.get(code));
            let missing = !signed.any(|one| one.step() == Some(step));
            missing.then_some(UnsignedLoad::Step(step))
        }
    }
}

/// What an item needs that is not signed off.
///
/// ```
/// use std::collections::BTreeSet;
/// use plimsoll_domain::contacts::{Reps, Sets};
/// use plimsoll_domain::exercises::{Catalogue, ExerciseCode};
/// use plimsoll_domain::programme::{Dose, Item, missing};
/// let jump = Item {
///     exercise: ExerciseCode::parse("block_jump").unwrap(),
///     sets: Sets::new(3).unwrap(),
///     dose: Dose::Reps(Reps::new(5).unwrap(), None),
///     side: None, against: None, rest: None, set_up: None, height: None,
///     note: None,
/// };
/// let found = missing(&jump, &Catalogue::of([]), &BTreeSet::new());
/// assert_eq!(found.exercises, [jump.exercise.clone()]);
/// ```
#[must_use]
pub fn missing(item: &Item, catalogue: &Catalogue, standing: &BTreeSet<ExerciseCode>) -> Missing {
    let Some(exercise) = catalogue.get(&item.exercise) else {
        return Missing {
            exercises: vec![item.exercise.clone()],
            step: None,
        };
    };
    let mut exercises: BTreeSet<ExerciseCode> = BTreeSet::new();
    if !standing.contains(&exercise.code) {
        if exercise.taught {
            exercises.insert(exercise.code.clone());
        } else {
            let before = catalogue.missing(&exercise.code, standing);
            exercises.extend(before.into_iter().flatten().cloned());
        }
    }
    let planned = item.planned(Some(exercise));
    let mut step = None;
    match unsigned_load(Some(exercise), &planned, catalogue, standing) {
        Some(UnsignedLoad::Exercise(code)) => {
            exercises.insert(code);
        }
        Some(UnsignedLoad::Step(of)) => step = Some(of),
        None => {}
    }
    Missing {
        exercises: exercises.into_iter().collect(),
        step,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contacts::{Reps, Sets};
    use crate::programme::{Against, Band, Dose};

    fn codes(texts: &[&str]) -> BTreeSet<ExerciseCode> {
        let parsed = texts.iter().map(|text| ExerciseCode::parse(text).unwrap());
        parsed.collect()
    }

    fn item(exercise: &str, against: Option<Against>) -> Item {
        Item {
            exercise: ExerciseCode::parse(exercise).unwrap(),
            sets: Sets::new(3).unwrap(),
            dose: Dose::Reps(Reps::new(5).unwrap(), None),
            side: None,
            against,
            rest: None,
            set_up: None,
            height: None,
            note: None,
        }
    }

    fn found(item: &Item, standing: &[&str]) -> (Vec<String>, Option<JumpStep>) {
        let missing = missing(item, &Catalogue::of([]), &codes(standing));
        let codes = missing.exercises.iter().map(ToString::to_string);
        (codes.collect(), missing.step)
    }

    #[test]
    fn what_is_taught_needs_its_own_and_the_rest_what_comes_before() {
        let none = |texts: &[&str]| {
            (
                texts
                    .iter()
                    .map(|&text| text.to_owned())
                    .collect::<Vec<_>>(),
                None,
            )
        };
        assert_eq!(found(&item("squat", None), &[]), none(&[]));
        assert_eq!(found(&item("split_squat", None), &[]), none(&["squat"]));
        assert_eq!(found(&item("split_squat", None), &["squat"]), none(&[]));
        assert_eq!(
            found(&item("squat_loaded", None), &["squat"]),
            none(&["squat_loaded"])
        );
        assert_eq!(
            found(&item("no_such_hop", None), &["squat"]),
            none(&["no_such_hop"])
        );
    }

    #[test]
    fn a_jump_that_gets_its_load_here_needs_a_loaded_step() {
        let banded = item("block_jump", Some(Against::Band(Band::new("red").unwrap())));
        let step = Some(JumpStep::BothFeetLoaded);
        assert_eq!(found(&banded, &["block_jump"]), (Vec::new(), step));
        let stands = found(&banded, &["block_jump", "squat_jump_loaded"]);
        assert_eq!(stands, (Vec::new(), None));
        let loaded = item("squat_jump_loaded", None);
        assert_eq!(
            found(&loaded, &["block_jump"]),
            (vec!["squat_jump_loaded".to_owned()], None)
        );
        // A carry is no jump.
        assert_eq!(
            found(&item("loaded_carry", None), &["hip_hinge"]),
            (Vec::new(), None)
        );
    }
}
