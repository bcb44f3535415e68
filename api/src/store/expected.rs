//! Who is invited to which planned session, and whether it is answered: the current knowledge.
//!
//! Kept in the transaction that changes an event, a membership, attendance or a report. Whether an
//! open one is unlogged depends on the time of reading: it is from its end on.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use diesel::upsert::excluded;
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{Kind, Setting};

use super::backend::{batches, each_backend, sorted_chunks};
use super::codes::ExpectedState;
use super::days::DaySet;
use super::schema::expected_sessions;
use super::types::Sql;
use super::who::{Who, of_whom};
use super::{Conn, StoreError, Tenant};
use crate::ids::{AthleteId, EventId};

/// One athlete's planned session.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = expected_sessions, treat_none_as_default_value = false)]
pub struct ExpectedSession {
    /// Who is invited.
    pub athlete_id: AthleteId,
    /// To which event.
    pub event_id: EventId,
    /// The local date of its start.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub load_date: Date,
    /// Who runs it.
    #[diesel(serialize_as = Sql<Setting>, deserialize_as = Sql<Setting>)]
    pub setting: Setting,
    /// What is done.
    #[diesel(serialize_as = Sql<Kind>, deserialize_as = Sql<Kind>)]
    pub kind: Kind,
    /// The most minutes it is taken to have lasted: attended, else planned.
    pub minutes: i32,
    /// When it begins.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub starts_at: Timestamp,
    /// When it is over by plan.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub ends_at: Timestamp,
    /// Whether it is answered.
    #[diesel(serialize_as = Sql<ExpectedState>, deserialize_as = Sql<ExpectedState>)]
    pub state: ExpectedState,
}

/// Whole days to be stored: each day's sessions, none of them for an empty day.
pub type ExpectedDays = BTreeMap<(AthleteId, Date), Vec<ExpectedSession>>;

/// Replaces whole days: afterwards they hold these sessions and no others. A session that moves
/// from one day to another needs both days.
///
/// # Errors
/// `Reference` when an athlete is not there.
pub fn replace(conn: &mut Conn, tenant: Tenant, days: &ExpectedDays) -> Result<(), StoreError> {
    let stored = stored_on(conn, tenant, days)?;
    let wanted: BTreeMap<(AthleteId, EventId), &ExpectedSession> = days
        .values()
        .flatten()
        .map(|one| ((one.athlete_id, one.event_id), one))
        .collect();
    let mut gone: BTreeMap<EventId, Vec<AthleteId>> = BTreeMap::new();
    let mut same: BTreeSet<(AthleteId, EventId)> = BTreeSet::new();
    for one in &stored {
        let key = (one.athlete_id, one.event_id);
        match wanted.get(&key) {
            None => gone.entry(one.event_id).or_default().push(one.athlete_id),
            Some(wanted) if *wanted == one => drop(same.insert(key)),
            Some(_) => {}
        }
    }
    for (event_id, athletes) in gone {
        for athletes in sorted_chunks(&athletes) {
            each_backend!(conn, |c| diesel::delete(expected_sessions::table)
                .filter(expected_sessions::club_id.eq(tenant.club_id()))
                .filter(expected_sessions::event_id.eq(event_id))
                .filter(expected_sessions::athlete_id.eq_any(&athletes))
                .execute(c))?;
        }
    }
    let changed = wanted.into_iter().filter(|(key, _)| !same.contains(key));
    upsert(conn, tenant, changed.map(|(_, one)| one))
}

fn upsert<'a>(
    conn: &mut Conn,
    tenant: Tenant,
    sessions: impl Iterator<Item = &'a ExpectedSession>,
) -> Result<(), StoreError> {
    use expected_sessions::{
        athlete_id, club_id, ends_at, event_id, kind, load_date, minutes, setting, starts_at, state,
    };
    let rows = sessions.map(|one| (club_id.eq(tenant.club_id()), one.clone()));
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(expected_sessions::table)
            .values(batch)
            .on_conflict((club_id, athlete_id, event_id))
            .do_update()
            .set((
                load_date.eq(excluded(load_date)),
                setting.eq(excluded(setting)),
                kind.eq(excluded(kind)),
                minutes.eq(excluded(minutes)),
                starts_at.eq(excluded(starts_at)),
                ends_at.eq(excluded(ends_at)),
                state.eq(excluded(state)),
            ))
            .execute(c))?;
    }
    Ok(())
}

/// The stored sessions of exactly these days.
fn stored_on(
    conn: &mut Conn,
    tenant: Tenant,
    days: &ExpectedDays,
) -> Result<Vec<ExpectedSession>, StoreError> {
    let days: DaySet = days.keys().copied().collect();
    let day_of = |one: &ExpectedSession| (one.athlete_id, one.load_date);
    days.read(day_of, |who, from, to| {
        each_backend!(conn, |c| {
            let query = expected_sessions::table
                .filter(expected_sessions::club_id.eq(tenant.club_id()))
                .filter(expected_sessions::load_date.between(Sql(from), Sql(to)))
                .into_boxed();
            of_whom!(expected_sessions, query, tenant, who)
                .select(ExpectedSession::as_select())
                .load(c)
        })
    })
}

/// The open sessions of `from..=to`, by athlete, start and event.
///
/// # Errors
/// Those of the database.
pub fn open_in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    from: Date,
    to: Date,
) -> Result<Vec<ExpectedSession>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = expected_sessions::table
                .filter(expected_sessions::club_id.eq(tenant.club_id()))
                .filter(expected_sessions::load_date.between(Sql(from), Sql(to)))
                .filter(expected_sessions::state.eq(Sql(ExpectedState::Open)))
                .into_boxed();
            of_whom!(expected_sessions, query, tenant, who)
                .order((
                    expected_sessions::athlete_id,
                    expected_sessions::starts_at,
                    expected_sessions::event_id,
                ))
                .select(ExpectedSession::as_select())
                .load(c)
        })
    })
}

/// The planned sessions of these athletes on a date, by athlete, start and event.
///
/// # Errors
/// Those of the database.
pub fn on_date(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    date: Date,
) -> Result<Vec<ExpectedSession>, StoreError> {
    Who::Athletes(athletes).read(|who| {
        each_backend!(conn, |c| {
            let query = expected_sessions::table
                .filter(expected_sessions::club_id.eq(tenant.club_id()))
                .filter(expected_sessions::load_date.eq(Sql(date)))
                .into_boxed();
            of_whom!(expected_sessions, query, tenant, who)
                .order((
                    expected_sessions::athlete_id,
                    expected_sessions::starts_at,
                    expected_sessions::event_id,
                ))
                .select(ExpectedSession::as_select())
                .load(c)
        })
    })
}

/// Who is invited to an event, by id.
///
/// # Errors
/// Those of the database.
pub fn of_event(
    conn: &mut Conn,
    tenant: Tenant,
    event_id: EventId,
) -> Result<Vec<ExpectedSession>, StoreError> {
    each_backend!(conn, |c| expected_sessions::table
        .filter(expected_sessions::club_id.eq(tenant.club_id()))
        .filter(expected_sessions::event_id.eq(event_id))
        .order(expected_sessions::athlete_id)
        .select(ExpectedSession::as_select())
        .load(c))
}
