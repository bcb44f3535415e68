//! Who does a programme: a squad, or one athlete with changes of her own, from a Monday on.
//!
//! An assignment names the version of the programme, so that nobody's sheet changes because the programme does. One athlete's own goes
//! before those of her squads.

use jiff::Timestamp;
use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use plimsoll_domain::programme::{Changes, Programme};
use serde::{Deserialize, Serialize};
use serde_json::{Number, Value};
use utoipa::ToSchema;

pub use super::changes::MOST_CHANGES;
use super::changes::{self, ChangeBody, CheckedChanges};
use super::named::{in_named_version, unsigned_faults};
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ProgrammeAssignmentId, ProgrammeId, SquadId};
use crate::services::fields::{self, Faults};
use crate::services::local_time::EARLIEST;
use crate::services::reach;
use crate::services::sign_offs::SignOffs;
use crate::services::write::Change;
use crate::store::programme_assignments::{self as store, Assignment};
use crate::store::{Change as NextVersion, Conn, Known, Tenant, Versioned, programmes};
use crate::web::json::shorten_text;
use crate::web::object;

const ASSIGNEE: &str = "exactly one of squad_id and athlete_id";

/// Who does a programme, and when. It takes a squad or an athlete; changes are an athlete's.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-06-01", "until": "2026-08-30",
    "programme_version": 1, "changes": [
        {"week": 1, "day": "tuesday", "item": 3, "change": "omit"},
        {"week": 2, "day": "tuesday", "item": 1, "change": "alter", "with": {"sets": 2}}]}))]
pub struct AssignmentInput {
    /// The squad; who is in it on a date does what is on that date.
    #[schema(value_type = Option<SquadId>)]
    squad_id: Option<String>,
    /// Or one athlete.
    #[schema(value_type = Option<AthleteId>)]
    athlete_id: Option<String>,
    /// The Monday on which its first week begins.
    #[schema(value_type = String, format = Date)]
    from: Option<String>,
    /// The last day; the last Sunday of the programme unless given.
    #[schema(value_type = Option<String>, format = Date)]
    until: Option<String>,
    /// Which version of the programme; the current one unless given.
    #[schema(value_type = Option<i32>, minimum = 1)]
    programme_version: Option<Number>,
    /// What is different for the athlete, at most 500 items.
    #[serde(
        default,
        deserialize_with = "object::list_at_most::<MOST_CHANGES, _, _>"
    )]
    #[schema(max_items = 500)]
    changes: Vec<ChangeBody>,
}

/// Who does a programme, and when.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"assignment_id": "0199a1b2-9e9e-7e4f-8a5b-6c7d8e9f0a1b", "programme_id": "0199a1b2-9d9d-7e4f-8a5b-6c7d8e9f0a1b",
    "programme_version": 1, "squad_id": null, "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-06-01",
    "until": "2026-08-30", "changes": [{"week": 1, "day": "tuesday", "session": 1, "item": 3, "change": "omit"}],
    "received_at": "2026-05-20T17:00:00Z", "version": 1}))]
pub struct AssignmentAnswer {
    /// Its id.
    pub assignment_id: ProgrammeAssignmentId,
    /// The programme.
    pub programme_id: ProgrammeId,
    /// Which version of it.
    pub programme_version: i32,
    /// The squad; null where it is one athlete's.
    pub squad_id: Option<SquadId>,
    /// The athlete; null where it is a squad's.
    pub athlete_id: Option<AthleteId>,
    /// The Monday on which its first week begins.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// The last day.
    #[schema(value_type = String, format = Date)]
    pub until: Date,
    /// What is different for the athlete; empty for programs that follow the club, since what is left out for her may hint at why.
    pub changes: Vec<ChangeBody>,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl AssignmentAnswer {
    /// A stored one, as a role may see it.
    pub fn shown_to(role: Role, stored: Versioned<Assignment>) -> Result<Self, Problem> {
        let mut answer = Self::of(stored)?;
        if role == Role::Integration {
            answer.changes.clear();
        }
        Ok(answer)
    }

    /// A stored one.
    pub fn of(stored: Versioned<Assignment>) -> Result<Self, Problem> {
        let Versioned { content, version } = stored;
        Ok(Self {
            changes: bodies(&content.changes)?,
            assignment_id: content.assignment_id,
            programme_id: content.programme_id,
            programme_version: content.programme_version,
            squad_id: content.squad_id,
            athlete_id: content.athlete_id,
            from: content.from_date,
            until: content.until_date,
            received_at: version.received_at,
            version: version.number,
        })
    }
}

fn bodies(kept: &Value) -> Result<Vec<ChangeBody>, Problem> {
    Vec::deserialize(kept).map_err(|error| Problem::internal(&error))
}

/// The changes of a stored assignment to its programme.
pub fn changes_of(assignment: &Assignment, programme: &Programme) -> Result<Changes, Problem> {
    let kept = bodies(&assignment.changes)?;
    let checked = changes::check(&kept, programme, None, &mut Faults::default());
    let defect = || Problem::internal(&"stored changes do not fit their programme");
    checked.map(|checked| checked.changes).ok_or_else(defect)
}

/// Those of a programme that a caller reaches, by id; of a removed one those that were over before.
pub fn list(
    conn: &mut Conn,
    caller: &Caller,
    programme: ProgrammeId,
) -> Result<Vec<Versioned<Assignment>>, Problem> {
    programmes::current(conn, caller.tenant, programme)?.ok_or_else(Problem::not_found)?;
    let all = store::of_programme(conn, caller.tenant, programme, EARLIEST)?;
    let (squads, reached) = (reach::squads(conn, caller)?, reach::of(conn, caller)?);
    let mine = |one: &Versioned<Assignment>| match (one.content.squad_id, one.content.athlete_id) {
        (Some(squad), _) => squads.as_ref().is_none_or(|squads| squads.contains(&squad)),
        (None, Some(athlete)) => reached.includes(athlete),
        (None, None) => false,
    };
    Ok(all.into_iter().filter(mine).collect())
}

/// What is stored under an id, removed or not; 404 where it is of another programme, or out of the caller's reach.
pub fn stored(
    conn: &mut Conn,
    caller: &Caller,
    (programme, id): (ProgrammeId, ProgrammeAssignmentId),
) -> Result<Option<Versioned<Assignment>>, Problem> {
    programmes::current(conn, caller.tenant, programme)?.ok_or_else(Problem::not_found)?;
    let Some(found) = store::current(conn, caller.tenant, id)? else {
        return Ok(None);
    };
    let content = &found.content;
    match (content.squad_id, content.athlete_id) {
        (Some(squad), _) => reach::squad(conn, caller, squad).map(|_| ())?,
        (None, Some(athlete)) => reach::athlete(conn, caller, athlete).map(|_| ())?,
        (None, None) => {}
    }
    if content.programme_id == programme {
        Ok(Some(found))
    } else {
        Err(Problem::not_found())
    }
}

/// Assigns a programme, or changes an assignment; the same content changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn put(
    change: &mut Change<'_>,
    (programme, id): (ProgrammeId, ProgrammeAssignmentId),
    current: Option<Versioned<Assignment>>,
    input: &AssignmentInput,
) -> Result<AssignmentAnswer, Problem> {
    let tenant = change.tenant();
    let content = checked(change, (programme, id), input)?;
    match current {
        None => change.store_with(|conn, tenant, moment, author| {
            store::insert(conn, tenant, moment, author, &[content])
        })?,
        Some(current) if current.content == content && !current.version.deleted => {}
        Some(current) => {
            let next = NextVersion {
                replaces: current.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                store::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
    }
    let stored = store::current(change.conn, tenant, id)?.ok_or_else(Problem::not_found)?;
    AssignmentAnswer::of(stored)
}

/// Takes an assignment back.
pub fn remove(change: &mut Change<'_>, current: Versioned<Assignment>) -> Result<(), Problem> {
    let tombstone = NextVersion::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        store::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

#[derive(Clone, Copy, PartialEq)]
enum Assignee {
    Squad(SquadId),
    Athlete(AthleteId),
}

fn checked(
    change: &mut Change<'_>,
    (programme, id): (ProgrammeId, ProgrammeAssignmentId),
    input: &AssignmentInput,
) -> Result<Assignment, Problem> {
    let tenant = change.tenant();
    let mut faults = Faults::default();
    let assignee = assignee(change.conn, change.caller, input)?;
    let assignee = faults.take(assignee);
    let current = super::current(change.conn, tenant, programme)?;
    let named = (current, input.programme_version.as_ref());
    let read = in_named_version(
        change.conn,
        tenant,
        named,
        ("/programme_version", Known::Now),
    )?;
    let read = faults.take(read);
    let weeks = read.as_ref().map(|read| read.programme.length());
    let dates = dates(input, weeks, &mut faults);
    let (Some(assignee), Some(read), Some((from, until))) = (assignee, read, dates) else {
        return Err(Problem::invalid(faults.into_vec()));
    };
    let checked = match assignee {
        Assignee::Squad(_) if !input.changes.is_empty() => {
            let fault = FieldProblem::new("/changes", Code::OutOfRange, input.changes.len());
            let allowed = "none of a squad's; assign it to the athlete as well, with her changes";
            faults.extend([fault.allowed(allowed)]);
            None
        }
        Assignee::Squad(_) => Some(Vec::new()),
        Assignee::Athlete(athlete) => for_athlete(
            change.conn,
            tenant,
            (athlete, &read.programme),
            input,
            &mut faults,
        )?,
    };
    let standing = store::of_programme(change.conn, tenant, programme, from)?;
    let same = |one: &&Versioned<Assignment>| {
        let other = one.content.assignment_id != id && one.content.from_date <= until;
        other && assignee_of(&one.content) == Some(assignee)
    };
    if let Some(other) = standing.iter().find(same) {
        let (from, until) = (other.content.from_date, other.content.until_date);
        let fault = FieldProblem::new("/from", Code::NotUnique, from.to_string());
        let detail = format!("It is assigned to the same from {from} to {until} already.");
        faults.extend([fault
            .detail(detail)
            .allowed("other dates, or the assignment that is there")]);
    }
    let kept = faults.settle(checked)?;
    let (squad_id, athlete_id) = match assignee {
        Assignee::Squad(squad) => (Some(squad), None),
        Assignee::Athlete(athlete) => (None, Some(athlete)),
    };
    Ok(Assignment {
        assignment_id: id,
        programme_id: programme,
        programme_version: read.version.number,
        squad_id,
        athlete_id,
        from_date: from,
        until_date: until,
        changes: serde_json::to_value(kept).map_err(|error| Problem::internal(&error))?,
    })
}

fn assignee_of(content: &Assignment) -> Option<Assignee> {
    let squad = content.squad_id.map(Assignee::Squad);
    squad.or(content.athlete_id.map(Assignee::Athlete))
}

/// A squad or an athlete within the caller's reach.
fn assignee(
    conn: &mut Conn,
    caller: &Caller,
    input: &AssignmentInput,
) -> Result<Result<Assignee, FieldProblem>, Problem> {
    let (pointer, code, given) = match (&input.squad_id, &input.athlete_id) {
        (Some(squad), None) => ("/squad_id", Code::UnknownSquad, squad),
        (None, Some(athlete)) => ("/athlete_id", Code::UnknownPerson, athlete),
        (None, None) => return Ok(Err(FieldProblem::missing("/squad_id", ASSIGNEE))),
        (Some(_), Some(athlete)) => {
            let given = shorten_text(athlete);
            let fault = FieldProblem::new("/athlete_id", Code::AmbiguousAssignee, given);
            return Ok(Err(fault.allowed(ASSIGNEE)));
        }
    };
    let found = match input.squad_id {
        Some(_) => match given.parse() {
            Ok(squad) => reach::squad(conn, caller, squad).map(|_| Assignee::Squad(squad)),
            Err(_) => Err(Problem::not_found()),
        },
        None => match given.parse() {
            Ok(one) => reach::athlete(conn, caller, one).map(|_| Assignee::Athlete(one)),
            Err(_) => Err(Problem::not_found()),
        },
    };
    match found {
        Ok(found) => Ok(Ok(found)),
        Err(problem) if problem.code == Code::NotFound => {
            let fault = FieldProblem::new(pointer, code, shorten_text(given));
            Ok(Err(fault.allowed("one of this club within your reach")))
        }
        Err(problem) => Err(problem),
    }
}

fn dates(input: &AssignmentInput, weeks: Option<u8>, faults: &mut Faults) -> Option<(Date, Date)> {
    let from = faults.take(monday(input.from.as_deref()));
    let until = input.until.as_deref();
    let until = faults.take(fields::optional("/until", until, fields::date));
    let (from, until, weeks) = (from?, until?, weeks?);
    let last = from.saturating_add((7 * i64::from(weeks) - 1).days());
    let until = until.unwrap_or(last);
    if (from..=last).contains(&until) {
        return Some((from, until));
    }
    let fault = FieldProblem::new("/until", Code::OutOfRange, until.to_string());
    faults.extend([fault.allowed(format!("{from} to {last}"))]);
    None
}

fn monday(given: Option<&str>) -> Result<Date, FieldProblem> {
    let date = fields::date("/from", given)?;
    if date.weekday() == Weekday::Monday {
        return Ok(date);
    }
    let ahead = i64::from(7 - date.weekday().to_monday_zero_offset());
    let next = date.saturating_add(ahead.days());
    let fault = FieldProblem::new("/from", Code::OutOfRange, date.to_string());
    Err(fault.allowed(format!("a Monday, such as {next}")))
}

/// The changes for one athlete as they are kept; no jump with a load is left that is not signed off.
fn for_athlete(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete, programme): (AthleteId, &Programme),
    input: &AssignmentInput,
    faults: &mut Faults,
) -> Result<Option<Vec<ChangeBody>>, Problem> {
    let signed = SignOffs::read(conn, tenant, athlete, Known::Now)?;
    let catalogue = &signed.catalogue.catalogue;
    let checked = changes::check(&input.changes, programme, Some(catalogue), faults);
    let Some(CheckedChanges { changes, kept }) = checked else {
        return Ok(None);
    };
    let progress = signed.progress();
    let theirs = (programme, &changes);
    let standing = progress.standing();
    faults.extend(unsigned_faults(
        "/changes",
        theirs,
        &signed.catalogue,
        standing,
    )?);
    Ok(Some(kept))
}
