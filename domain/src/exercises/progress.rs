//! What an athlete has signed off, and where that leads.

use std::collections::BTreeSet;

use super::{Catalogue, CatalogueExercise, ExerciseCode};

/// Exercises signed off, and those of them that stand, worked out once.
#[derive(Clone, Debug)]
pub struct Progress<'a> {
    catalogue: &'a Catalogue,
    signed_off: BTreeSet<ExerciseCode>,
    standing: BTreeSet<ExerciseCode>,
}

impl<'a> Progress<'a> {
    /// Of exercises signed off and not withdrawn.
    #[must_use]
    pub fn new(catalogue: &'a Catalogue, signed_off: BTreeSet<ExerciseCode>) -> Progress<'a> {
        Progress {
            standing: catalogue.standing(&signed_off),
            catalogue,
            signed_off,
        }
    }

    /// Those whose prerequisites stand too; see [`Catalogue::standing`].
    #[must_use]
    pub const fn standing(&self) -> &BTreeSet<ExerciseCode> {
        &self.standing
    }

    /// What may be signed off next, having built on an exercise: what names it, or one of equal choice with it, and misses nothing.
    ///
    /// ```
    /// use std::collections::BTreeSet;
    /// use plimsoll_domain::exercises::{Catalogue, ExerciseCode, Progress};
    /// let catalogue = Catalogue::of([]);
    /// let [squat, held] = ["squat", "step_off_landing_both_feet"].map(|code| ExerciseCode::parse(code).unwrap());
    /// let both = Progress::new(&catalogue, BTreeSet::from([squat, held.clone()]));
    /// assert!(both.next_after(&held).iter().any(|one| one.code.as_str() == "block_jump"));
    /// // The landing builds on the squat: without it, it leads nowhere.
    /// assert!(Progress::new(&catalogue, BTreeSet::from([held.clone()])).next_after(&held).is_empty());
    /// ```
    #[must_use]
    pub fn next_after(&self, code: &ExerciseCode) -> Vec<&'a CatalogueExercise> {
        if !self.standing.contains(code) {
            return Vec::new();
        }
        let all = self.catalogue.building_on(code);
        let open = all.filter(|one| !self.signed_off.contains(&one.code));
        open.filter(|one| self.catalogue.missing(&one.code, &self.standing) == Some(Vec::new()))
            .collect()
    }
}
