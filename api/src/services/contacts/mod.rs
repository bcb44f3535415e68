//! Landings and throws counted in a session, and what they come to.
//!
//! `input` is what is sent, `answer` what is answered, `row` what is kept; [`sessions`] joins counts with an athlete's sessions, and
//! [`athlete`] reads those of some dates.

mod answer;
pub mod athlete;
mod input;
mod row;
pub mod sessions;

pub use answer::SessionContactsAnswer;
pub use input::{LandingsInput, SessionContactsInput};

use super::write::Change;
use crate::error::Problem;
use crate::ids::SessionId;
use crate::store::session_contacts::{self, SessionContacts};
use crate::store::sessions::Session;
use crate::store::{self, Conn, Tenant, Versioned};

/// Stores what was counted in a session: for the first time, as the next version, or not at all where it says the same. `current` is
/// what is stored, deleted or not.
pub fn put(
    change: &mut Change<'_>,
    session: &Session,
    current: Option<Versioned<SessionContacts>>,
    input: &SessionContactsInput,
) -> Result<SessionContactsAnswer, Problem> {
    let content = row::of(session, &input.check()?)?;
    match current {
        Some(current) if current.content == content && !current.version.deleted => {}
        Some(current) => {
            let next = store::Change {
                replaces: current.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                session_contacts::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
        None => change.store_with(|conn, tenant, moment, author| {
            session_contacts::insert(conn, tenant, moment, author, &[content])
        })?,
    }
    let tenant = change.tenant();
    let stored = find(change.conn, tenant, session.session_id)?;
    SessionContactsAnswer::new(&stored)
}

/// What was counted in a session that the caller reaches.
///
/// # Errors
/// 404 where nobody counted.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    session_id: SessionId,
) -> Result<Versioned<SessionContacts>, Problem> {
    let found = session_contacts::current(conn, tenant, session_id)?;
    let found = found.filter(|one| !one.version.deleted);
    found.ok_or_else(Problem::not_found)
}

/// Takes the counts back.
pub fn remove(change: &mut Change<'_>, current: Versioned<SessionContacts>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        session_contacts::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    Ok(())
}

/// Takes the counts of a report back that is removed, where there are any.
pub fn remove_with(change: &mut Change<'_>, session_id: SessionId) -> Result<(), Problem> {
    let tenant = change.tenant();
    let current = session_contacts::current(change.conn, tenant, session_id)?;
    match current.filter(|one| !one.version.deleted) {
        Some(current) => remove(change, current),
        None => Ok(()),
    }
}
