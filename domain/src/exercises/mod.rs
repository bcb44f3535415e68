//! The catalogue of exercises, and in which order techniques are signed off.
//!
//! An exercise says what it is and how a repetition lands, and nothing of a dose: sets, repetitions, loads and heights are the coach's.
//! Landings are learnt step by step ([`JumpStep`]): on both feet, with a load, on one foot, on one foot with a load. Common practice,
//! no source. A sign-off says that somebody watched; it clears nobody.

mod catalogue;
mod code;
mod progress;
mod sequence;
mod shipped;

pub use catalogue::{Catalogue, CatalogueError};
pub use code::{ExerciseCode, ExerciseCodeError};
pub use progress::Progress;
pub use sequence::JumpStep;

use crate::coded::coded_enum;
use crate::contacts::Landing;
use crate::neuromuscular::ExerciseCategory;

coded_enum! {
    /// What an exercise mainly trains.
    TrainingCategory {
        /// Speed, turning and starting.
        Speed = "speed",
        /// Strength.
        Strength = "strength",
        /// Running, carrying and moving for longer.
        Conditioning = "conditioning",
        /// Jumping, landing and falling.
        Landing = "landing",
    }
}

coded_enum! {
    /// How repetitions are counted.
    ExerciseSides {
        /// Both sides at once.
        Both = "both",
        /// For each side.
        Each = "each",
    }
}

/// An exercise of a club's catalogue, shipped or its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CatalogueExercise {
    /// What it is called in paths and sign-offs.
    pub code: ExerciseCode,
    /// A descriptive name.
    pub name: String,
    /// How it is done.
    pub description: String,
    /// What it mainly trains.
    pub category: TrainingCategory,
    /// Which kinds of exercise of a neuromuscular warm-up it is.
    pub components: Vec<ExerciseCategory>,
    /// How repetitions are counted.
    pub sides: ExerciseSides,
    /// How a repetition lands; `None` where that is not known.
    pub landing: Option<Landing>,
    /// Landings on a hand in a repetition.
    pub hands: u8,
    /// Whether a load is carried.
    pub loaded: bool,
    /// What has to be signed off before.
    pub prerequisites: Vec<ExerciseCode>,
    /// The group of exercises of which any does as well: as a prerequisite each stands for all of them.
    pub equal_choice: Option<ExerciseCode>,
    /// Whether somebody has to teach it before it is done alone.
    pub taught: bool,
    /// What to look out for.
    pub caution: Option<String>,
}

impl CatalogueExercise {
    /// The step of the sequence of landings; `None` where a repetition lands on no foot, or nobody can say.
    #[must_use]
    pub fn step(&self) -> Option<JumpStep> {
        JumpStep::of(self.landing?, self.loaded)
    }
}
