//! A club's catalogue: the shipped exercises and its own, with what has to come before what.

use std::collections::{BTreeMap, BTreeSet};

use super::{CatalogueExercise, ExerciseCode, JumpStep, shipped};

/// The exercises of a club by code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Catalogue(BTreeMap<ExerciseCode, CatalogueExercise>);

/// Why an exercise does not fit into a catalogue.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CatalogueError {
    /// A prerequisite is in no catalogue.
    #[error("{0} is no exercise of the catalogue")]
    UnknownPrerequisite(ExerciseCode),
    /// It would have to come before itself, by this prerequisite.
    #[error("{0} has to come after it already")]
    Circular(ExerciseCode),
    /// It lands at a step, and nothing before it is of the step before or of the same one.
    #[error("none of the exercises before it lands {}", .0.code())]
    StepSkipped(JumpStep),
    /// A prerequisite lands at a later step than it does.
    #[error("{0} lands at a later step")]
    LaterStep(ExerciseCode),
    /// The exercises of its group land at another step.
    #[error("the exercises of its group land at another step, as {0} does")]
    OtherStepInGroup(ExerciseCode),
    /// Another exercise builds on it as it was.
    #[error("{0} builds on it")]
    Needed(ExerciseCode),
}

impl Catalogue {
    /// The shipped exercises and a club's own, which were checked when they were entered. An own one under a shipped code is left out.
    #[must_use]
    pub fn of(own: impl IntoIterator<Item = CatalogueExercise>) -> Catalogue {
        let all = own.into_iter().chain(shipped::exercises());
        Catalogue(all.map(|one| (one.code.clone(), one)).collect())
    }

    /// Whether a code is one of the shipped ones.
    #[must_use]
    pub fn is_shipped(code: &ExerciseCode) -> bool {
        shipped::exercises().any(|one| one.code == *code)
    }

    /// Every exercise, by code.
    pub fn exercises(&self) -> impl Iterator<Item = &CatalogueExercise> {
        self.0.values()
    }

    /// The exercise of a code.
    #[must_use]
    pub fn get(&self, code: &ExerciseCode) -> Option<&CatalogueExercise> {
        self.0.get(code)
    }

    /// The catalogue with an exercise entered or replaced.
    ///
    /// # Errors
    /// [`CatalogueError`] where it does not fit in, or another one no longer would.
    pub fn with(&self, exercise: CatalogueExercise) -> Result<Catalogue, CatalogueError> {
        let code = exercise.code.clone();
        let mut all = self.0.clone();
        all.insert(code.clone(), exercise);
        let changed = Catalogue(all);
        changed.check(&code)?;
        changed.check_others(self, &code)
    }

    /// The catalogue without an exercise.
    ///
    /// # Errors
    /// [`CatalogueError::Needed`] where another one builds on it.
    pub fn without(&self, code: &ExerciseCode) -> Result<Catalogue, CatalogueError> {
        let mut all = self.0.clone();
        all.remove(code);
        Catalogue(all).check_others(self, code)
    }

    /// Says that another exercise, which fitted in before, needs the changed one as it was.
    fn check_others(
        self,
        before: &Catalogue,
        changed: &ExerciseCode,
    ) -> Result<Catalogue, CatalogueError> {
        let others = self.0.keys().filter(|code| *code != changed);
        let mut broken =
            others.filter(|code| self.check(code).is_err() && before.check(code).is_ok());
        match broken.next() {
            Some(code) => Err(CatalogueError::Needed(code.clone())),
            None => Ok(self),
        }
    }

    fn check(&self, code: &ExerciseCode) -> Result<(), CatalogueError> {
        let Some(exercise) = self.0.get(code) else {
            return Ok(());
        };
        for prerequisite in &exercise.prerequisites {
            if !self.0.contains_key(prerequisite) {
                return Err(CatalogueError::UnknownPrerequisite(prerequisite.clone()));
            }
            if self.comes_after(prerequisite, code) {
                return Err(CatalogueError::Circular(prerequisite.clone()));
            }
        }
        self.check_step(exercise)
    }

    fn check_step(&self, exercise: &CatalogueExercise) -> Result<(), CatalogueError> {
        let step = exercise.step();
        let mates = self.0.values().filter(|one| is_choice(one, exercise));
        if let Some(other) = mates.into_iter().find(|one| one.step() != step) {
            return Err(CatalogueError::OtherStepInGroup(other.code.clone()));
        }
        let Some(step) = step else { return Ok(()) };
        let before = exercise.prerequisites.iter();
        let before: Vec<_> = before.filter_map(|code| self.0.get(code)).collect();
        if let Some(later) = before.iter().find(|one| one.step() > Some(step)) {
            return Err(CatalogueError::LaterStep(later.code.clone()));
        }
        let leads_to = |one: &&CatalogueExercise| {
            let of = one.step();
            of.is_some() && (of == step.before() || of == Some(step))
        };
        match step.before() {
            Some(skipped) if !before.iter().any(leads_to) => {
                Err(CatalogueError::StepSkipped(skipped))
            }
            _ => Ok(()),
        }
    }

    /// Whether an exercise, or one of equal choice with it, has to come after another, or is it.
    fn comes_after(&self, from: &ExerciseCode, other: &ExerciseCode) -> bool {
        let mut seen = BTreeSet::new();
        let mut open: Vec<&CatalogueExercise> = self.choices(from).collect();
        while let Some(one) = open.pop() {
            if one.code == *other {
                return true;
            }
            if seen.insert(&one.code) {
                let before = one.prerequisites.iter();
                open.extend(before.flat_map(|code| self.choices(code)));
            }
        }
        false
    }

    /// An exercise and those of equal choice with it.
    fn choices(&self, code: &ExerciseCode) -> impl Iterator<Item = &CatalogueExercise> {
        let named = self.0.get(code);
        let mates = self.0.values().filter(move |one| {
            named.is_some_and(|named| one.code == named.code || is_choice(one, named))
        });
        mates.into_iter()
    }

    /// Those of the signed-off exercises whose prerequisites stand too. One whose step before was withdrawn does not.
    #[must_use]
    pub fn standing(&self, signed_off: &BTreeSet<ExerciseCode>) -> BTreeSet<ExerciseCode> {
        let mut standing = BTreeSet::new();
        loop {
            let more = signed_off.iter().filter(|code| {
                !standing.contains(*code) && self.missing(code, &standing) == Some(Vec::new())
            });
            let more: Vec<ExerciseCode> = more.cloned().collect();
            if more.is_empty() {
                return standing;
            }
            standing.extend(more);
        }
    }

    /// The prerequisites of an exercise for which nothing stands, by name and code; `None` for one that is not in the catalogue.
    #[must_use]
    pub fn missing(
        &self,
        code: &ExerciseCode,
        standing: &BTreeSet<ExerciseCode>,
    ) -> Option<Vec<&ExerciseCode>> {
        let met = |one: &ExerciseCode| self.choices(one).any(|one| standing.contains(&one.code));
        let before = self.0.get(code)?.prerequisites.iter();
        Some(before.filter(|one| !met(one)).collect())
    }

    /// Exercises that name an exercise, or one of equal choice with it, as what comes before them.
    pub(super) fn building_on(
        &self,
        code: &ExerciseCode,
    ) -> impl Iterator<Item = &CatalogueExercise> {
        let choices: BTreeSet<&ExerciseCode> = self.choices(code).map(|one| &one.code).collect();
        let names_one = move |one: &&CatalogueExercise| {
            let mut before = one.prerequisites.iter();
            before.any(|before| choices.contains(before))
        };
        self.0.values().filter(names_one)
    }
}

/// Whether two different exercises are of equal choice.
fn is_choice(one: &CatalogueExercise, other: &CatalogueExercise) -> bool {
    let group = one.equal_choice.as_ref();
    one.code != other.code && group.is_some() && group == other.equal_choice.as_ref()
}
