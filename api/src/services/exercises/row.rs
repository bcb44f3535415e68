//! An exercise of a club's own as the database keeps it: codes and texts as JSON.

use plimsoll_domain::contacts::Landing;
use plimsoll_domain::exercises::{
    CatalogueExercise, ExerciseCode, ExerciseSides, TrainingCategory,
};
use plimsoll_domain::neuromuscular::ExerciseCategory;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::Problem;
use crate::store::exercises::ClubExercise;

#[derive(Serialize, Deserialize)]
struct Content {
    name: String,
    description: String,
    category: String,
    components: Vec<String>,
    sides: String,
    landing: Option<String>,
    hands: u8,
    loaded: bool,
    prerequisites: Vec<String>,
    equal_choice: Option<String>,
    taught: bool,
    caution: Option<String>,
}

/// The content of an exercise.
pub fn content(exercise: &CatalogueExercise) -> Value {
    let components = exercise.components.iter();
    serde_json::json!(Content {
        name: exercise.name.clone(),
        description: exercise.description.clone(),
        category: exercise.category.code().to_owned(),
        components: components.map(|one| one.code().to_owned()).collect(),
        sides: exercise.sides.code().to_owned(),
        landing: exercise.landing.map(|landing| landing.code().to_owned()),
        hands: exercise.hands,
        loaded: exercise.loaded,
        prerequisites: exercise
            .prerequisites
            .iter()
            .map(ExerciseCode::to_string)
            .collect(),
        equal_choice: exercise.equal_choice.as_ref().map(ExerciseCode::to_string),
        taught: exercise.taught,
        caution: exercise.caution.clone(),
    })
}

/// The exercise that a row holds; `None` for a film of a shipped one. A row that holds no exercise of this version is a defect.
pub fn exercise(row: &ClubExercise) -> Result<Option<CatalogueExercise>, Problem> {
    let Some(content) = &row.content else {
        return Ok(None);
    };
    let content = Content::deserialize(content).map_err(|error| Problem::internal(&error))?;
    let read = read(&row.code, content);
    let defect = || Problem::internal(&"an exercise of this club has a code that is not known");
    read.map(Some).ok_or_else(defect)
}

fn read(code: &str, content: Content) -> Option<CatalogueExercise> {
    let codes = |texts: &[String]| -> Option<Vec<ExerciseCode>> {
        texts
            .iter()
            .map(|text| ExerciseCode::parse(text).ok())
            .collect()
    };
    let components = content.components.iter();
    let components = components.map(|text| ExerciseCategory::parse(text));
    Some(CatalogueExercise {
        code: ExerciseCode::parse(code).ok()?,
        category: TrainingCategory::parse(&content.category)?,
        components: components.collect::<Option<_>>()?,
        sides: ExerciseSides::parse(&content.sides)?,
        landing: match &content.landing {
            Some(landing) => Some(Landing::parse(landing)?),
            None => None,
        },
        hands: content.hands,
        loaded: content.loaded,
        prerequisites: codes(&content.prerequisites)?,
        equal_choice: match &content.equal_choice {
            Some(group) => Some(ExerciseCode::parse(group).ok()?),
            None => None,
        },
        taught: content.taught,
        caution: content.caution,
        name: content.name,
        description: content.description,
    })
}

#[cfg(test)]
mod tests {
    use plimsoll_domain::exercises::Catalogue;
    use uuid::Uuid;

    use super::*;

    #[test]
    fn what_is_kept_reads_back() {
        for exercise in Catalogue::of([]).exercises() {
            let row = ClubExercise {
                exercise_id: Uuid::nil().into(),
                code: exercise.code.to_string(),
                film_url: None,
                content: Some(content(exercise)),
            };
            assert_eq!(super::exercise(&row).unwrap().as_ref(), Some(exercise));
        }
    }
}
