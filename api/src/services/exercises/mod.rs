//! The catalogue of exercises as a club has it: the shipped ones, its own, and its films of any.
//!
//! `input` is what is sent, `answer` what is answered, `row` what is kept.

mod answer;
mod input;
mod row;

pub use answer::ExerciseAnswer;
pub use input::{ExerciseInput, MOST_PREREQUISITES};

use std::collections::BTreeMap;

use plimsoll_domain::exercises::{Catalogue, CatalogueError, CatalogueExercise, ExerciseCode};

use super::fields::Faults;
use super::write::Change;
use crate::error::{Code, FieldProblem, Problem};
use crate::store::exercises::{self, ClubExercise};
use crate::store::{self, Conn, Known, Tenant, Versioned};
use input::Given;

/// Codes that a club may add to the catalogue, removed ones included.
pub const MOST_OWN: usize = 200;

/// A club's catalogue in a state of knowledge.
#[derive(Debug)]
pub struct ClubCatalogue {
    /// The exercises.
    pub catalogue: Catalogue,
    /// What the club ever added, by code: films, and exercises that were removed too.
    added: BTreeMap<String, Versioned<ClubExercise>>,
}

impl ClubCatalogue {
    /// Reads it.
    pub fn read(conn: &mut Conn, tenant: Tenant, state: Known) -> Result<Self, Problem> {
        let added = exercises::known(conn, tenant, state)?;
        let standing = added.iter().filter(|one| !one.version.deleted);
        let own = standing.filter_map(|one| row::exercise(&one.content).transpose());
        Ok(Self {
            catalogue: Catalogue::of(own.collect::<Result<Vec<_>, _>>()?),
            added: added
                .into_iter()
                .map(|one| (one.content.code.clone(), one))
                .collect(),
        })
    }

    /// The exercise of a code.
    ///
    /// # Errors
    /// 404.
    pub fn find(&self, code: &ExerciseCode) -> Result<ExerciseAnswer, Problem> {
        let exercise = self.catalogue.get(code).ok_or_else(Problem::not_found)?;
        Ok(self.answer(exercise))
    }

    /// Every exercise, by code.
    pub fn answers(&self) -> impl Iterator<Item = ExerciseAnswer> {
        self.catalogue.exercises().map(|one| self.answer(one))
    }

    /// The name of an exercise, of a removed one too; else its code.
    pub fn name(&self, code: &str) -> Result<String, Problem> {
        let known = ExerciseCode::parse(code).ok();
        if let Some(known) = known.and_then(|code| self.catalogue.get(&code)) {
            return Ok(known.name.clone());
        }
        let removed = self.added.get(code).map(|one| row::exercise(&one.content));
        let removed = removed.transpose()?.flatten();
        Ok(removed.map_or_else(|| code.to_owned(), |one| one.name))
    }

    fn answer(&self, exercise: &CatalogueExercise) -> ExerciseAnswer {
        let added = self.added.get(exercise.code.as_str());
        ExerciseAnswer::new(exercise, added, Catalogue::is_shipped(&exercise.code))
    }

    /// The version of what the club added under a code, removed or not; 0 where it never did.
    fn version(&self, code: &ExerciseCode) -> i32 {
        let added = self.added.get(code.as_str());
        added.map_or(0, |one| one.version.number)
    }
}

/// A code as it stands in a path.
///
/// # Errors
/// 404: no exercise has a text that is no code.
pub fn code(text: &str) -> Result<ExerciseCode, Problem> {
    ExerciseCode::parse(text).map_err(|_| Problem::not_found())
}

/// Enters an exercise of the club's own, replaces it, or attaches a film to a shipped one. The same content changes nothing.
///
/// # Errors
/// 422 with every fault; 409 where another exercise builds on it as it was, or the catalogue is full.
pub fn put(
    change: &mut Change<'_>,
    before: &ClubCatalogue,
    code: &ExerciseCode,
    input: &ExerciseInput,
) -> Result<ExerciseAnswer, Problem> {
    let mut faults = Faults::default();
    let given = input.check(code, &mut faults);
    let Given { film_url, own } = faults.settle(given)?;
    if let Some(own) = &own {
        let fits = before.catalogue.with(own.clone());
        fits.map_err(|error| refused(input, &error))?;
    }
    let added = before.added.get(code.as_str());
    if added.is_none() && before.added.len() >= MOST_OWN {
        let detail = format!("The club has added {MOST_OWN} codes.");
        return Err(Problem::new(Code::CatalogueFull, detail));
    }
    let content = ClubExercise {
        exercise_id: added.map_or_else(|| change.new_id(), |one| one.content.exercise_id),
        code: code.to_string(),
        film_url,
        content: own.as_ref().map(row::content),
    };
    store(change, added, content, false)?;
    let tenant = change.tenant();
    ClubCatalogue::read(change.conn, tenant, Known::Now)?.find(code)
}

/// Takes what the club added under a code back: its exercise, or its film of a shipped one.
///
/// # Errors
/// 409 where another exercise builds on it, or nothing of it is the club's.
pub fn remove(
    change: &mut Change<'_>,
    before: &ClubCatalogue,
    code: &ExerciseCode,
) -> Result<(), Problem> {
    let added = before.added.get(code.as_str());
    let added = added.filter(|one| !one.version.deleted);
    let added = added.ok_or_else(|| {
        let detail = "It comes with the service, and the club has attached nothing.";
        Problem::new(Code::Conflict, detail)
    })?;
    if !Catalogue::is_shipped(code) {
        let rest = before.catalogue.without(code);
        rest.map_err(|error| needed(&error))?;
    }
    store(change, Some(added), added.content.clone(), true)
}

fn store(
    change: &mut Change<'_>,
    before: Option<&Versioned<ClubExercise>>,
    content: ClubExercise,
    deleted: bool,
) -> Result<(), Problem> {
    let Some(before) = before else {
        return Ok(change.store_with(|conn, tenant, moment, author| {
            exercises::insert(conn, tenant, moment, author, &[content])
        })?);
    };
    if before.content == content && before.version.deleted == deleted {
        return Ok(());
    }
    let next = store::Change {
        replaces: before.version.number,
        content,
        deleted,
    };
    Ok(change.store_with(|conn, tenant, moment, author| {
        exercises::supersede(conn, tenant, moment, author, &[next])
    })?)
}

/// Whether an exercise stands under a code now, and in which version.
pub fn standing(catalogue: &ClubCatalogue, code: &ExerciseCode) -> Option<i32> {
    let stands = catalogue.catalogue.get(code);
    stands.map(|_| catalogue.version(code))
}

fn refused(input: &ExerciseInput, error: &CatalogueError) -> Problem {
    let at = |code: &ExerciseCode| {
        let given = input.prerequisites.iter().flatten();
        let mut given = given.enumerate();
        let place = given.find(|(_, text)| text.as_str() == code.as_str());
        match place {
            Some((place, _)) => format!("/prerequisites/{place}"),
            None => "/prerequisites".to_owned(),
        }
    };
    let named = |code: &ExerciseCode, why: Code, allowed: &str| {
        let fault = FieldProblem::new(at(code), why, code.as_str());
        Problem::field(fault.detail(format!("{error}.")).allowed(allowed))
    };
    match error {
        CatalogueError::UnknownPrerequisite(code) => {
            named(code, Code::UnknownExercise, "codes of the catalogue")
        }
        CatalogueError::Circular(code) => {
            let allowed = "exercises that do not build on this one";
            named(code, Code::CircularPrerequisite, allowed)
        }
        CatalogueError::LaterStep(code) => {
            let allowed = "exercises of the step before, or of the same one";
            named(code, Code::StepSkipped, allowed)
        }
        CatalogueError::StepSkipped(step) => {
            let given = input.prerequisites.clone().unwrap_or_default();
            let fault = FieldProblem::new("/prerequisites", Code::StepSkipped, given);
            let allowed = format!("with one that lands {}", step.code());
            Problem::field(fault.allowed(allowed))
        }
        CatalogueError::OtherStepInGroup(_) => {
            let given = input.equal_choice.clone().unwrap_or_default();
            let fault = FieldProblem::new("/equal_choice", Code::OtherStepInGroup, given);
            Problem::field(fault.detail(format!("{error}.")))
        }
        CatalogueError::Needed(_) => needed(error),
    }
}

fn needed(error: &CatalogueError) -> Problem {
    Problem::new(Code::ExerciseNeeded, format!("{error}."))
}
