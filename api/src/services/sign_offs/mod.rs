//! Techniques signed off: who watched which exercise, and what may come next.
//!
//! Who watched is the token's subject in its role, never a field. A sign-off says that an exercise was seen done well; it clears nobody.

mod answer;
mod input;

pub use answer::{SignOffAnswer, SignOffState, Withdrawn};
pub use input::SignOffInput;

use std::collections::BTreeSet;

use plimsoll_domain::exercises::{CatalogueExercise, ExerciseCode, Progress};

use super::clinician::not_about_herself;
use super::exercises::ClubCatalogue;
use super::fields::Faults;
use super::write::Change;
use super::{text, zones};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, SignOffId};
use crate::store::sign_offs::{self, SignOff};
use crate::store::{self, Conn, Known, Tenant, Versioned, Who};

/// Longest reason, in characters.
const LONGEST_REASON: usize = 280;

/// What was signed off of an athlete, with the catalogue, in a state of knowledge.
#[derive(Debug)]
pub struct SignOffs {
    /// The club's exercises.
    pub catalogue: ClubCatalogue,
    /// All sign-offs, withdrawn ones too, by day and id.
    pub all: Vec<Versioned<SignOff>>,
}

impl SignOffs {
    /// Reads them.
    pub fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athlete: AthleteId,
        state: Known,
    ) -> Result<Self, Problem> {
        Ok(Self {
            catalogue: ClubCatalogue::read(conn, tenant, state)?,
            all: sign_offs::known(conn, tenant, Who::Athletes(&[athlete]), state)?,
        })
    }

    /// Each as it is answered to a caller.
    pub fn answers(&self, caller: &Caller) -> Result<Vec<SignOffAnswer>, Problem> {
        let progress = self.progress();
        let all = self.all.iter();
        all.map(|one| SignOffAnswer::new(one, self, &progress, caller))
            .collect()
    }

    /// The one of an id as it is answered to a caller.
    ///
    /// # Errors
    /// 404.
    pub fn answer(&self, id: SignOffId, caller: &Caller) -> Result<SignOffAnswer, Problem> {
        let found = self.all.iter().find(|one| one.content.sign_off_id == id);
        let found = found.ok_or_else(Problem::not_found)?;
        SignOffAnswer::new(found, self, &self.progress(), caller)
    }

    /// What is signed off and not withdrawn, and where it leads.
    pub fn progress(&self) -> Progress<'_> {
        Progress::new(&self.catalogue.catalogue, codes(self.not_withdrawn()))
    }

    fn not_withdrawn(&self) -> impl Iterator<Item = &SignOff> {
        let left = self.all.iter().filter(|one| !one.version.deleted);
        left.map(|one| &one.content)
    }
}

/// What may come next after a sign-off; nothing after one that was withdrawn.
pub fn next_after<'a>(
    one: &Versioned<SignOff>,
    progress: &Progress<'a>,
) -> Vec<&'a CatalogueExercise> {
    match ExerciseCode::parse(&one.content.exercise) {
        Ok(code) if !one.version.deleted => progress.next_after(&code),
        _ => Vec::new(),
    }
}

/// How a sign-off stands.
pub fn state(one: &Versioned<SignOff>, progress: &Progress<'_>) -> SignOffState {
    let is_it = |code: &ExerciseCode| code.as_str() == one.content.exercise;
    match (one.version.deleted, progress.standing().iter().any(is_it)) {
        (true, _) => SignOffState::Withdrawn,
        (false, true) => SignOffState::Standing,
        (false, false) => SignOffState::StepBeforeMissing,
    }
}

/// Signs an exercise off, or changes the date or the note. `current` is what is stored under the id.
///
/// # Errors
/// 403 about oneself; 409 where it was withdrawn or somebody else watched; 422 with every fault.
pub fn put(
    change: &mut Change<'_>,
    (athlete, id): (AthleteId, SignOffId),
    current: Option<Versioned<SignOff>>,
    input: &SignOffInput,
) -> Result<SignOffAnswer, Problem> {
    not_about_herself(change, athlete)?;
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let others = SignOffs::read(change.conn, tenant, athlete, Known::Now)?;
    let mut faults = Faults::default();
    let checked = input.check((athlete, id), &change.caller.principal, today, &mut faults);
    if let Some(checked) = &checked {
        faults.extend(misfit(checked, current.as_ref(), &others)?);
    }
    let content = faults.settle(checked)?;
    match current {
        None => change.store_with(|conn, tenant, moment, author| {
            sign_offs::insert(conn, tenant, moment, author, &[content])
        })?,
        Some(current) => replace(change, &current, content)?,
    }
    SignOffs::read(change.conn, tenant, athlete, Known::Now)?.answer(id, change.caller)
}

fn replace(
    change: &mut Change<'_>,
    current: &Versioned<SignOff>,
    content: SignOff,
) -> Result<(), Problem> {
    if current.version.deleted {
        let detail = "It was withdrawn, and stays so: sign off under a new id.";
        return Err(Problem::new(Code::Conflict, detail));
    }
    let said = |one: &SignOff| (one.signed_on, one.note.clone());
    if said(&current.content) == said(&content) {
        return Ok(());
    }
    if current.content.watched_by != content.watched_by {
        let detail = "Somebody else watched: withdraw it, and sign off what you have watched.";
        return Err(Problem::new(Code::Conflict, detail));
    }
    let next = store::Change {
        replaces: current.version.number,
        content,
        deleted: false,
    };
    Ok(change.store_with(|conn, tenant, moment, author| {
        sign_offs::supersede(conn, tenant, moment, author, &[next])
    })?)
}

/// Why a sign-off does not fit to the others: its exercise is not known, signed off already, or misses the step before.
fn misfit(
    sign_off: &SignOff,
    current: Option<&Versioned<SignOff>>,
    others: &SignOffs,
) -> Result<Option<FieldProblem>, Problem> {
    let given = &sign_off.exercise;
    let fault = |code| FieldProblem::new("/exercise", code, given.clone());
    if let Some(current) = current.filter(|one| one.content.exercise != *given) {
        let allowed = current.content.exercise.clone();
        return Ok(Some(fault(Code::IdTaken).allowed(allowed)));
    }
    let mut standing = others.not_withdrawn();
    let same = |one: &SignOff| one.exercise == *given && one.sign_off_id != sign_off.sign_off_id;
    if standing.any(same) {
        return Ok(Some(fault(Code::SignedOffAlready)));
    }
    let known = ExerciseCode::parse(given).ok();
    let exercises = &others.catalogue.catalogue;
    let by_then = others
        .not_withdrawn()
        .filter(|one| one.signed_on <= sign_off.signed_on);
    let by_then = exercises.standing(&codes(by_then));
    let missing = known.and_then(|code| {
        exercises.missing(&code, &by_then).map(|missing| {
            missing
                .into_iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
        })
    });
    let Some(missing) = missing else {
        let allowed = "the code of an exercise of the catalogue";
        return Ok(Some(fault(Code::UnknownExercise).allowed(allowed)));
    };
    if missing.is_empty() {
        return Ok(None);
    }
    let names = missing.iter().map(|code| others.catalogue.name(code));
    let names = names.collect::<Result<Vec<_>, _>>()?.join(", ");
    let detail = format!("Not signed off by {}: {names}.", sign_off.signed_on);
    let allowed = format!("after sign-off of {}", missing.join(", "));
    Ok(Some(
        fault(Code::StepBeforeMissing)
            .detail(detail)
            .allowed(allowed),
    ))
}

/// Withdraws a sign-off; it stays in the list as withdrawn.
///
/// # Errors
/// 403 about oneself; 422 without a reason.
pub fn withdraw(
    change: &mut Change<'_>,
    current: Versioned<SignOff>,
    reason: Option<String>,
) -> Result<(), Problem> {
    not_about_herself(change, current.content.athlete_id)?;
    let Some(reason) = reason else {
        return Err(Problem::field(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "why it is withdrawn, 1 to 280 characters")
        }));
    };
    text::note("/reason", &reason, LONGEST_REASON).map_err(Problem::field)?;
    let tombstone = store::Change {
        replaces: current.version.number,
        content: SignOff {
            reason: Some(reason.into()),
            ..current.content
        },
        deleted: true,
    };
    Ok(change.store_with(|conn, tenant, moment, author| {
        sign_offs::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// What is stored under an id, withdrawn or not; 404 where it is another athlete's.
pub fn stored(
    conn: &mut Conn,
    caller: &Caller,
    (athlete, id): (AthleteId, SignOffId),
) -> Result<Option<Versioned<SignOff>>, Problem> {
    let found = sign_offs::current(conn, caller.tenant, id)?;
    match found {
        Some(other) if other.content.athlete_id != athlete => Err(Problem::not_found()),
        found => Ok(found),
    }
}

fn codes<'a>(sign_offs: impl Iterator<Item = &'a SignOff>) -> BTreeSet<ExerciseCode> {
    let codes = sign_offs.filter_map(|one| ExerciseCode::parse(&one.exercise).ok());
    codes.collect()
}
