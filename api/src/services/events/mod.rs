//! Planned sessions: checked, stored as versions, and followed through to whom they are expected of.

pub mod answer;
mod input;
mod warnings;

pub use answer::EventAnswer;
pub use input::{EventInput, FURTHEST_AHEAD, MOST_INVITED};

use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::EventId;
use crate::services::reach::{self, Reached};
use crate::services::write::Change;
use crate::services::{schedule, warm_ups};
use crate::store::events::{self, Event};
use crate::store::{self, Conn, Versioned, calendars, expected};
use input::{Checked, check, sent_key};

/// An event after a write.
#[derive(Debug)]
pub struct Written {
    /// The answer.
    pub answer: EventAnswer,
    /// Whether it is there for the first time.
    pub created: bool,
}

/// Stores an event by its natural key: a new one, a new version, or unchanged.
pub fn create(change: &mut Change<'_>, input: &EventInput) -> Result<Written, Problem> {
    let (tenant, source) = (change.tenant(), change.source().to_owned());
    let known = match sent_key(input) {
        Some(key) => events::by_natural_key(change.conn, tenant, &source, &key)?,
        None => None,
    };
    match known {
        Some(known) => replace(change, known, input),
        None => {
            let id = change.new_id();
            insert(change, id, input)
        }
    }
}

/// Stores a new event under an id.
pub fn insert(
    change: &mut Change<'_>,
    event_id: EventId,
    input: &EventInput,
) -> Result<Written, Problem> {
    let source = change.source().to_owned();
    let checked = check(change, event_id, &source, input)?;
    taken(change, &checked.event)?;
    let event = checked.event.clone();
    change.store_with(|conn, tenant, moment, author| {
        events::insert(conn, tenant, moment, author, &[event])
    })?;
    schedule::event_changed(change, None, Some(&checked.event))?;
    written(change, &checked, true)
}

/// Gives an event other content; the same content changes nothing. Its source stays the client that
/// made it.
///
/// # Errors
/// 403 where the event invites squads or athletes beyond the caller's reach.
pub fn replace(
    change: &mut Change<'_>,
    current: Versioned<Event>,
    input: &EventInput,
) -> Result<Written, Problem> {
    may_change(change.conn, change.caller, &current.content)?;
    let before = current.content;
    let checked = check(change, before.event_id, &before.source, input)?;
    if checked.event == before && !current.version.deleted {
        return written(change, &checked, false);
    }
    if checked.event.natural_key != before.natural_key {
        taken(change, &checked.event)?;
    }
    let next = store::Change {
        replaces: current.version.number,
        content: checked.event.clone(),
        deleted: false,
    };
    change.store_with(|conn, tenant, moment, author| {
        events::supersede(conn, tenant, moment, author, &[next])
    })?;
    let standing = (!current.version.deleted).then_some(&before);
    schedule::event_changed(change, standing, Some(&checked.event))?;
    written(change, &checked, current.version.deleted)
}

/// Takes an event back, as if it had never been planned; a session that was called off is cancelled
/// instead.
pub fn remove(change: &mut Change<'_>, current: Versioned<Event>) -> Result<(), Problem> {
    may_change(change.conn, change.caller, &current.content)?;
    let before = current.content.clone();
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        events::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    warm_ups::remove_with(change, &[before.event_id])?;
    schedule::event_changed(change, Some(&before), None)
}

/// The undeleted event of an id within the caller's reach.
pub fn find(conn: &mut Conn, caller: &Caller, id: EventId) -> Result<Versioned<Event>, Problem> {
    let found = events::current(conn, caller.tenant, id)?
        .filter(|event| !event.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if is_visible(conn, caller, &found.content)? {
        Ok(found)
    } else {
        Err(Problem::not_found())
    }
}

/// Whether an event invites anybody within the caller's reach, or one of her squads.
pub fn is_visible(conn: &mut Conn, caller: &Caller, event: &Event) -> Result<bool, Problem> {
    let reached = reach::of(conn, caller)?;
    if reached == Reached::Everyone {
        return Ok(true);
    }
    let squads = reach::squads(conn, caller)?.unwrap_or_default();
    if event.squads.iter().any(|squad| squads.contains(squad)) {
        return Ok(true);
    }
    let invited = expected::of_event(conn, caller.tenant, event.event_id)?;
    Ok(invited.iter().any(|one| reached.includes(one.athlete_id)))
}

/// Demands that an event does not come from a calendar, and that everybody it invites is within the caller's reach.
fn may_change(conn: &mut Conn, caller: &Caller, event: &Event) -> Result<(), Problem> {
    let calendar = event
        .calendar_id
        .map(|id| calendars::find(conn, caller.tenant, id));
    // What a deleted calendar left behind is nobody's but the club's.
    if calendar.transpose()?.flatten().is_some() {
        let detail = "What the calendar says of it would undo the change.";
        return Err(Problem::new(Code::EventOfCalendar, detail));
    }
    let limit = reach::squads(conn, caller)?;
    let reached = reach::of(conn, caller)?;
    let squads_within = limit.is_none_or(|limit| {
        let mut squads = event.squads.iter();
        squads.all(|squad| limit.contains(squad))
    });
    if squads_within
        && event
            .athletes
            .iter()
            .all(|athlete| reached.includes(*athlete))
    {
        return Ok(());
    }
    Err(Problem::new(
        Code::RoleMayNot,
        "The event also invites squads or athletes beyond your own.",
    ))
}

/// Refuses an external id that another event of the same source has.
fn taken(change: &mut Change<'_>, event: &Event) -> Result<(), Problem> {
    use crate::error::FieldProblem;
    let tenant = change.tenant();
    let (source, key) = (&event.source, &event.natural_key);
    let holder = events::by_natural_key(change.conn, tenant, source, key)?;
    match holder {
        Some(holder) if holder.content.event_id != event.event_id => {
            let given = event.external_id.clone().unwrap_or_default();
            Err(Problem::field(FieldProblem::new(
                "/external_id",
                Code::IdTaken,
                given,
            )))
        }
        _ => Ok(()),
    }
}

fn written(change: &mut Change<'_>, checked: &Checked, created: bool) -> Result<Written, Problem> {
    let tenant = change.tenant();
    let stored = events::current(change.conn, tenant, checked.event.event_id)?
        .ok_or_else(Problem::not_found)?;
    let reached = reach::of(change.conn, change.caller)?;
    let warnings = warnings::of(change, checked)?;
    let answer = EventAnswer {
        warnings,
        ..EventAnswer::new(stored, &reached)?
    };
    Ok(Written { answer, created })
}
