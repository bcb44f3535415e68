//! Attendance: who took part in a planned session, and for how long.
//!
//! [`AttendanceInput`] is what is sent, `check` checks it, [`AttendanceAnswer`] is what is answered.

mod answer;
mod check;
mod input;

pub use answer::AttendanceAnswer;
pub use input::AttendanceInput;

use super::write::Change;
use super::{reach, schedule};
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, AttendanceId};
use crate::store::attendance::{self, Attendance};
use crate::store::events::{self, Event};
use crate::store::{self, AttendanceStatus, Conn, EventStatus, Versioned};
use check::checked;

/// Enters what the list says of an athlete at an event: for the first time, anew, or unchanged. Says
/// whether it is there for the first time.
pub fn enter(
    change: &mut Change<'_>,
    input: &AttendanceInput,
) -> Result<(AttendanceAnswer, bool), Problem> {
    let (event, wanted) = checked(change, input)?;
    let (tenant, athlete) = (change.tenant(), wanted.athlete_id);
    let known = attendance::find(change.conn, tenant, event.event_id, athlete)?;
    let new = known.is_none();
    let id = known
        .as_ref()
        .map_or(wanted.attendance_id, |known| known.content.attendance_id);
    let content = Attendance {
        attendance_id: id,
        ..wanted
    };
    match known {
        Some(known) if known.content == content => {}
        Some(known) => {
            let next = store::Change {
                replaces: known.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                attendance::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
        None => change.store_with(|conn, tenant, moment, author| {
            attendance::insert(conn, tenant, moment, author, &[content])
        })?,
    }
    let warnings = follow(change, &event, athlete)?;
    let stored = find(change.conn, change.caller, id)?;
    let mut answer = AttendanceAnswer::from(stored);
    answer.warnings = own_warnings(change, &event, &answer)?;
    answer.warnings.extend(warnings);
    Ok((answer, new))
}

/// Takes an entry back.
pub fn remove(change: &mut Change<'_>, current: Versioned<Attendance>) -> Result<(), Problem> {
    let (event_id, athlete) = (current.content.event_id, current.content.athlete_id);
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        attendance::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    let tenant = change.tenant();
    let event = events::current(change.conn, tenant, event_id)?;
    let event = event.ok_or_else(|| Problem::internal(&"an entry without its event"))?;
    follow(change, &event.content, athlete).map(drop)
}

/// The undeleted entry of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: AttendanceId,
) -> Result<Versioned<Attendance>, Problem> {
    let found = attendance::current(conn, caller.tenant, id)?
        .filter(|entry| !entry.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// Follows a change through to what it counts as; what a person should look at comes back.
fn follow(
    change: &mut Change<'_>,
    event: &Event,
    athlete: AthleteId,
) -> Result<Vec<Code>, Problem> {
    let standings = schedule::attendance_changed(change, athlete, event.load_date)?;
    let of_event = standings
        .into_values()
        .filter(|one| one.event_id == Some(event.event_id));
    let disputed = |code: &Code| {
        matches!(
            code,
            Code::MinutesDiffer | Code::ReportedThoughAbsent | Code::SetAside
        )
    };
    let mut found: Vec<Code> = of_event
        .flat_map(|one| one.warnings)
        .filter(disputed)
        .collect();
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

fn own_warnings(
    change: &mut Change<'_>,
    event: &Event,
    entry: &AttendanceAnswer,
) -> Result<Vec<Code>, Problem> {
    let mut found = Vec::new();
    if event.status == EventStatus::Cancelled {
        found.push(Code::EventCancelled);
    }
    if !schedule::is_expected(change, event, entry.athlete_id)? {
        found.push(Code::NotExpected);
    }
    if entry.status == AttendanceStatus::Partial.code() && entry.minutes.is_none() {
        found.push(Code::PartialWithoutMinutes);
    }
    Ok(found)
}
