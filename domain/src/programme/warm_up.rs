//! The neuromuscular warm-up of a session of a programme.

use std::collections::BTreeSet;

use crate::exercises::CatalogueExercise;
use crate::neuromuscular::{ExerciseCategory, WarmUp, WarmUpError, WarmUpMinutes};

/// A warm-up as it is prescribed, or that the session has none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SessionWarmUp {
    minutes: WarmUpMinutes,
    categories: Option<BTreeSet<ExerciseCategory>>,
    feedback: bool,
}

impl SessionWarmUp {
    /// A warm-up. Without categories it holds those of the session's items.
    ///
    /// # Errors
    /// [`WarmUpError::NothingHeld`].
    pub fn new(
        minutes: WarmUpMinutes,
        categories: Option<BTreeSet<ExerciseCategory>>,
        feedback: bool,
    ) -> Result<SessionWarmUp, WarmUpError> {
        WarmUp::new(minutes, categories.clone().unwrap_or_default(), feedback)?;
        Ok(SessionWarmUp {
            minutes,
            categories,
            feedback,
        })
    }

    /// How long it is meant to last; 0 where the session has none.
    #[must_use]
    pub const fn minutes(&self) -> WarmUpMinutes {
        self.minutes
    }

    /// What it holds, where that is said.
    #[must_use]
    pub const fn categories(&self) -> Option<&BTreeSet<ExerciseCategory>> {
        self.categories.as_ref()
    }

    /// Whether feedback on technique is to be given.
    #[must_use]
    pub const fn feedback(&self) -> bool {
        self.feedback
    }

    /// The warm-up of a session with these exercises.
    pub(super) fn with<'a>(
        &self,
        exercises: impl Iterator<Item = &'a CatalogueExercise>,
    ) -> Option<WarmUp> {
        let of_items = || exercises.flat_map(|one| one.components.iter().copied());
        let categories = match &self.categories {
            Some(said) => said.clone(),
            None if self.minutes.get() == 0 => BTreeSet::new(),
            None => of_items().collect(),
        };
        WarmUp::new(self.minutes, categories, self.feedback).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exercises::{Catalogue, ExerciseCode};

    #[test]
    fn without_categories_it_holds_those_of_the_items() {
        let catalogue = Catalogue::of([]);
        let code = ExerciseCode::parse("block_jump").unwrap();
        let of = |minutes, categories: Option<&[ExerciseCategory]>| {
            let categories = categories.map(|all| all.iter().copied().collect());
            let minutes = WarmUpMinutes::new(minutes).unwrap();
            let planned = SessionWarmUp::new(minutes, categories, false).unwrap();
            let warm_up = planned.with(catalogue.get(&code).into_iter()).unwrap();
            warm_up.categories().iter().copied().collect::<Vec<_>>()
        };
        assert_eq!(of(15, None), [ExerciseCategory::Jump]);
        let said = [ExerciseCategory::Balance];
        assert_eq!(of(15, Some(&said)), said);
        assert_eq!(of(0, None), []);
    }
}
