//! Session reports: checked, stored as versions, counted into day totals.
//!
//! [`input`] is what is sent, `check` makes a [`draft`] of it, [`apply`] stores a batch through `record` and counts
//! it through [`mod@recount`], [`mod@answer`] is what is answered.

pub mod answer;
pub mod apply;
pub mod bulk;
mod capacity;
mod check;
pub mod csv_rows;
pub mod draft;
pub mod input;
mod record;
pub mod recount;
mod warnings;

pub use answer::SessionAnswer;
pub use input::SessionInput;
pub use record::{Outcome, Target};

use jiff::tz::TimeZone;

use apply::Applied;
use draft::Entry;

use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, SessionId};
use crate::services::people::People;
use crate::services::reach;
use crate::services::schedule::standing::ReportStanding;
use crate::services::write::Change;
use crate::services::{contacts, flags, text, zones};
use crate::store::sessions::{self, Session};
use crate::store::{self, Conn, DaySet, Known, Tenant, Versioned, Who, athletes};
use recount::{recount, standings};

/// A report after a single write.
#[derive(Debug)]
pub struct Written {
    /// The answer.
    pub answer: SessionAnswer,
    /// Whether it is there for the first time.
    pub created: bool,
}

/// Stores one report by its natural key.
pub fn create(change: &mut Change<'_>, input: &SessionInput) -> Result<Written, Problem> {
    let source = change.source().to_owned();
    store_one(change, input, source, None)
}

/// Stores one report under an id: the one that is there, or a new one.
pub fn replace(
    change: &mut Change<'_>,
    input: &SessionInput,
    target: Target,
) -> Result<Written, Problem> {
    let stored = target
        .current
        .as_ref()
        .map(|current| current.content.source.clone());
    let source = stored.unwrap_or_else(|| change.source().to_owned());
    store_one(change, input, source, Some(target))
}

fn store_one(
    change: &mut Change<'_>,
    input: &SessionInput,
    source: String,
    target: Option<Target>,
) -> Result<Written, Problem> {
    let people = People::read(change, std::iter::once(input.naming()))?;
    let entry = entry(change);
    let draft =
        draft::check(input, people.subject(input.naming()), entry).map_err(Problem::invalid)?;
    let applied = apply::apply(change, &people, entry, source, &[draft], target)?;
    let applied = applied
        .into_iter()
        .next()
        .ok_or_else(|| Problem::internal(&"no outcome"))?;
    let Applied {
        recorded,
        standing,
        warnings,
    } = applied.map_err(Problem::field)?;
    let created = recorded.outcome == Outcome::Accepted && recorded.version == 1;
    let session = &recorded.session;
    let standing = match standing {
        Some(standing) => standing,
        None => standing_of(change.conn, change.tenant(), session)?,
    };
    let answer = SessionAnswer::new(session, recorded.version, recorded.received_at, &standing)?;
    let answer = SessionAnswer { warnings, ..answer };
    Ok(Written { answer, created })
}

/// Puts a tombstone on a report and on what was counted in its session; it stops counting and stays readable in the history.
pub fn remove(
    change: &mut Change<'_>,
    current: Versioned<Session>,
    reason: Option<String>,
) -> Result<(), Problem> {
    let Some(reason) = reason else {
        return Err(Problem::field(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "why it is removed, 1 to 280 characters")
        }));
    };
    text::note("/reason", &reason, 280).map_err(Problem::field)?;
    let (session_id, load_date) = (current.content.session_id, current.content.load_date);
    let home = home_of(change, current.content.athlete_id)?;
    entry(change)
        .may_change(load_date, &home, Some(&reason))
        .map_err(Problem::field)?;
    let mut touched = DaySet::default();
    touched.add(current.content.athlete_id, current.content.load_date);
    let tombstone = store::Change {
        replaces: current.version.number,
        content: Session {
            reason: Some(reason.into()),
            ..current.content
        },
        deleted: true,
    };
    change.store_with(|conn, tenant, moment, author| {
        sessions::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    contacts::remove_with(change, session_id)?;
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
}

/// The current report under an id, if it is there, undeleted and within reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    session_id: SessionId,
) -> Result<Versioned<Session>, Problem> {
    let found = sessions::current(conn, caller.tenant, session_id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// What is stored under an id for a `PUT`: nothing, or a report within reach.
pub fn target(conn: &mut Conn, caller: &Caller, id: SessionId) -> Result<Target, Problem> {
    let current = sessions::current(conn, caller.tenant, id)?;
    if let Some(one) = &current
        && !reach::of(conn, caller)?.includes(one.content.athlete_id)
    {
        return Err(Problem::not_found());
    }
    Ok(Target { id, current })
}

/// The answer for a stored report, as it stands now.
pub fn answer(
    conn: &mut Conn,
    tenant: Tenant,
    stored: &Versioned<Session>,
) -> Result<SessionAnswer, Problem> {
    let standing = standing_of(conn, tenant, &stored.content)?;
    let version = &stored.version;
    SessionAnswer::new(
        &stored.content,
        version.number,
        version.received_at,
        &standing,
    )
}

/// The answers for stored reports, as they stand now: a query a table for any number.
pub fn answers(
    conn: &mut Conn,
    tenant: Tenant,
    stored: &[Versioned<Session>],
) -> Result<Vec<SessionAnswer>, Problem> {
    let mut standings = standings(conn, tenant, stored.iter().map(|one| &one.content))?;
    let answer = |one: &Versioned<Session>| {
        let standing = standings.remove(&one.content.session_id);
        let standing = standing.ok_or_else(|| Problem::internal(&"a report does not stand"))?;
        let version = &one.version;
        SessionAnswer::new(&one.content, version.number, version.received_at, &standing)
    };
    stored.iter().map(answer).collect()
}

fn standing_of(
    conn: &mut Conn,
    tenant: Tenant,
    session: &Session,
) -> Result<ReportStanding, Problem> {
    let mut standings = standings(conn, tenant, std::iter::once(session))?;
    let standing = standings.remove(&session.session_id);
    standing.ok_or_else(|| Problem::internal(&"a report does not stand"))
}

fn home_of(change: &mut Change<'_>, athlete: AthleteId) -> Result<TimeZone, Problem> {
    let (tenant, who) = (change.tenant(), [athlete]);
    let found = athletes::known(change.conn, tenant, Who::Athletes(&who), Known::Now)?;
    let athlete = found.into_iter().next().ok_or_else(Problem::not_found)?;
    zones::home(change.conn, tenant, &athlete.content)
}

fn entry(change: &Change<'_>) -> Entry {
    Entry {
        role: change.caller.principal.role,
        is_staff: change.caller.is_staff(),
        now: change.at(),
    }
}
