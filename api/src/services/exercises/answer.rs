//! An exercise as it is answered.

use jiff::Timestamp;
use plimsoll_domain::contacts::Landing;
use plimsoll_domain::exercises::{CatalogueExercise, ExerciseCode};
use serde::Serialize;
use utoipa::ToSchema;

use crate::store::Versioned;
use crate::store::exercises::ClubExercise;

/// An exercise of the catalogue. It states no dose: sets, repetitions, loads and heights are the coach's.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "code": "block_jump", "shipped": true, "name": "Block jump",
    "description": "Jump straight up with both arms high, land on both feet, ready to move.", "category": "landing",
    "components": ["jump"], "sides": "both", "landing": "both_feet", "hands": 0, "loaded": false, "step": "both_feet",
    "prerequisites": ["step_off_landing_both_feet"], "equal_choice": "jumps_on_both_feet", "taught": true, "caution": null,
    "film_url": "https://films.example/block-jump", "received_at": "2026-09-01T17:00:00Z", "version": 1}))]
pub struct ExerciseAnswer {
    /// What it is called in paths and sign-offs.
    #[schema(example = "block_jump")]
    pub code: String,
    /// Whether it comes with the service.
    pub shipped: bool,
    /// Its name.
    pub name: String,
    /// How it is done.
    pub description: String,
    /// speed, strength, conditioning or landing.
    #[schema(value_type = String)]
    pub category: &'static str,
    /// Which of strength, jump, agility, balance and flexibility it is in a neuromuscular warm-up.
    #[schema(value_type = Vec<String>)]
    pub components: Vec<&'static str>,
    /// Whether repetitions are counted for both sides at once or for each.
    #[schema(value_type = String)]
    pub sides: &'static str,
    /// How a repetition lands: none, both_feet, each_foot, left_foot or right_foot; null where that is not known.
    #[schema(value_type = Option<String>)]
    pub landing: Option<&'static str>,
    /// Landings on a hand in a repetition.
    pub hands: u8,
    /// Whether a load is carried.
    pub loaded: bool,
    /// Its step in the sequence of landings: both_feet, both_feet_loaded, one_foot, one_foot_loaded; null where it lands on no foot, or
    /// nobody can say.
    #[schema(value_type = Option<String>)]
    pub step: Option<&'static str>,
    /// What has to be signed off before.
    pub prerequisites: Vec<String>,
    /// The group of exercises of which any stands for all as a prerequisite.
    pub equal_choice: Option<String>,
    /// Whether somebody has to teach it before it is done alone.
    pub taught: bool,
    /// What to look out for.
    pub caution: Option<String>,
    /// The club's film of it.
    pub film_url: Option<String>,
    /// When the club's version was received; null where it is as shipped.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub received_at: Option<Timestamp>,
    /// 0 as shipped, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl ExerciseAnswer {
    /// An exercise with what the club added under its code.
    pub(super) fn new(
        exercise: &CatalogueExercise,
        added: Option<&Versioned<ClubExercise>>,
        shipped: bool,
    ) -> Self {
        let standing = added.filter(|one| !one.version.deleted);
        Self {
            code: exercise.code.to_string(),
            shipped,
            name: exercise.name.clone(),
            description: exercise.description.clone(),
            category: exercise.category.code(),
            components: exercise.components.iter().map(|one| one.code()).collect(),
            sides: exercise.sides.code(),
            landing: exercise.landing.map(Landing::code),
            hands: exercise.hands,
            loaded: exercise.loaded,
            step: exercise.step().map(|step| step.code()),
            prerequisites: exercise
                .prerequisites
                .iter()
                .map(ExerciseCode::to_string)
                .collect(),
            equal_choice: exercise.equal_choice.as_ref().map(ExerciseCode::to_string),
            taught: exercise.taught,
            caution: exercise.caution.clone(),
            film_url: standing.and_then(|one| one.content.film_url.clone()),
            received_at: standing.map(|one| one.version.received_at),
            version: added.map_or(0, |one| one.version.number),
        }
    }
}
