//! Restrictions: set by a licensed clinician, stored as versions, and followed through to ceilings.

pub mod answer;
mod check;
mod input;
pub mod standing;

pub use answer::RestrictionAnswer;
pub use input::RestrictionInput;

use jiff::civil::Date;

use super::fields::Faults;
use super::people::People;
use super::write::Change;
use super::{clinician, flags, reach, text, zones};
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::RestrictionId;
use crate::store::restrictions::{self, Restriction};
use crate::store::{self, Conn, DaySet, Versioned};

/// Longest reason, in characters.
const LONGEST_REASON: usize = 280;

/// Sets a restriction under an id.
///
/// # Errors
/// 403 without a licence on file, or about oneself; 422 with every fault.
pub fn enter(
    change: &mut Change<'_>,
    id: RestrictionId,
    input: &RestrictionInput,
) -> Result<RestrictionAnswer, Problem> {
    clinician::licensed(change)?;
    let restriction = checked(change, id, input)?;
    clinician::not_about_herself(change, restriction.athlete_id)?;
    let stored = restriction.clone();
    change.store_with(|conn, tenant, moment, author| {
        restrictions::insert(conn, tenant, moment, author, &[stored])
    })?;
    judge_again(change, &[&restriction])?;
    Ok(find(change.conn, change.caller, id)?.into())
}

/// Gives a restriction other content; the same content changes nothing.
///
/// # Errors
/// As [`enter`]; 409 where only a written clearance ends it.
pub fn replace(
    change: &mut Change<'_>,
    current: Versioned<Restriction>,
    input: &RestrictionInput,
) -> Result<RestrictionAnswer, Problem> {
    clinician::licensed(change)?;
    let before = current.content;
    clinician::not_about_herself(change, before.athlete_id)?;
    let restriction = checked(change, before.restriction_id, input)?;
    if restriction.athlete_id != before.athlete_id {
        let given = restriction.athlete_id.to_string();
        let fault = FieldProblem::new("/athlete_id", Code::IdTaken, given);
        return Err(Problem::field(fault.allowed(before.athlete_id.to_string())));
    }
    if before.written_clearance.is_some() && is_eased(&before, &restriction) {
        return Err(written_clearance_required());
    }
    if restriction != before || current.version.deleted {
        let next = store::Change {
            replaces: current.version.number,
            content: restriction.clone(),
            deleted: false,
        };
        change.store_with(|conn, tenant, moment, author| {
            restrictions::supersede(conn, tenant, moment, author, &[next])
        })?;
        judge_again(change, &[&before, &restriction])?;
    }
    Ok(find(change.conn, change.caller, before.restriction_id)?.into())
}

/// Takes a restriction back, as one that should never have been; one that is over gets a last day
/// instead.
///
/// # Errors
/// As [`replace`]; 422 without a reason.
pub fn remove(
    change: &mut Change<'_>,
    current: Versioned<Restriction>,
    reason: Option<String>,
) -> Result<(), Problem> {
    clinician::licensed(change)?;
    let before = current.content;
    clinician::not_about_herself(change, before.athlete_id)?;
    if before.written_clearance.is_some() {
        return Err(written_clearance_required());
    }
    let Some(reason) = reason else {
        return Err(Problem::field(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "why it is removed, 1 to 280 characters")
        }));
    };
    text::note("/reason", &reason, LONGEST_REASON).map_err(Problem::field)?;
    let tombstone = store::Change {
        replaces: current.version.number,
        content: Restriction {
            reason: Some(reason.into()),
            ..before.clone()
        },
        deleted: true,
    };
    change.store_with(|conn, tenant, moment, author| {
        restrictions::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    judge_again(change, &[&before])
}

/// The undeleted restriction of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: RestrictionId,
) -> Result<Versioned<Restriction>, Problem> {
    let found = restrictions::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// Judges again what a change of load limits reaches, from a first day on.
pub fn judge_since(change: &mut Change<'_>, of: &Restriction, from: Date) -> Result<(), Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let mut touched = DaySet::default();
    touched.add(of.athlete_id, from);
    let last = of.until_date.unwrap_or(today);
    touched.add(of.athlete_id, last.max(from));
    flags::rejudge(change, &touched)
}

fn checked(
    change: &mut Change<'_>,
    id: RestrictionId,
    input: &RestrictionInput,
) -> Result<Restriction, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let mut faults = Faults::default();
    let subject = People::subject_of(change, input.naming())?;
    let subject = faults.take(subject);
    // The other fields are looked at all the same, so that all faults are told together.
    let nobody = uuid::Uuid::nil().into();
    let athlete = subject.map_or(nobody, |subject| subject.athlete_id);
    let restriction = input.check(id, athlete, today, &mut faults);
    faults.settle(restriction)
}

/// Whether a restriction that waits for a written clearance would wait no longer, or begin later.
fn is_eased(before: &Restriction, after: &Restriction) -> bool {
    after.written_clearance.is_none() || after.from_date > before.from_date
}

fn written_clearance_required() -> Problem {
    let detail = "It stands until a clearance record that names it.";
    Problem::new(Code::WrittenClearanceRequired, detail)
}

/// Judges closed weeks again where one of them limits load.
fn judge_again(change: &mut Change<'_>, limits: &[&Restriction]) -> Result<(), Problem> {
    let limit_load =
        |one: &&&Restriction| one.max_week_au.is_some() || one.written_clearance.is_some();
    for one in limits.iter().filter(limit_load) {
        judge_since(change, one, one.from_date)?;
    }
    Ok(())
}
