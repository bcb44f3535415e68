//! Planned sessions: what, when, how long, and who is invited.

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Kind, Setting};
use serde_json::Value;

use super::codes::EventStatus;
use super::schema::{event_squads, events, expected_sessions};
use super::versioned::prelude::*;
use crate::ids::{AthleteId, CalendarId, EventId, SquadId};

/// A planned session as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = events, treat_none_as_default_value = false)]
pub struct Event {
    /// Its id.
    pub event_id: EventId,
    /// The client that sent it.
    pub source: String,
    /// What makes it the same event when the source sends it again.
    pub natural_key: String,
    /// The client's own id.
    pub external_id: Option<String>,
    /// Who runs it.
    #[diesel(serialize_as = Sql<Setting>, deserialize_as = Sql<Setting>)]
    pub setting: Setting,
    /// What is done.
    #[diesel(serialize_as = Sql<Kind>, deserialize_as = Sql<Kind>)]
    pub kind: Kind,
    /// When it begins.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub starts_at: Timestamp,
    /// The offset of local time from UTC when it begins, in seconds.
    pub utc_offset_seconds: i32,
    /// The IANA zone, where it is known.
    pub time_zone: Option<String>,
    /// The local date of its start.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub load_date: Date,
    /// Planned minutes.
    pub minutes: i32,
    /// How hard it is meant to be, in half steps.
    pub intended_rpe_half: Option<i32>,
    /// Whether it cannot be moved or shortened, as a game.
    pub is_fixed: bool,
    /// How it stands.
    #[diesel(serialize_as = Sql<EventStatus>, deserialize_as = Sql<EventStatus>)]
    pub status: EventStatus,
    /// The squads invited, in order.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub squads: Vec<SquadId>,
    /// Athletes invited beside them, in order.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub athletes: Vec<AthleteId>,
    /// The calendar that it comes from.
    pub calendar_id: Option<CalendarId>,
    /// Its UID there (RFC 5545, 3.8.4.7).
    pub uid: Option<String>,
    /// Which instance of that UID it is: the original start, where the event recurs.
    pub recurrence_id: Option<String>,
}

impl Event {
    /// When it is over by plan.
    pub fn ends_at(&self) -> Timestamp {
        self.starts_at + SignedDuration::from_mins(self.minutes.into())
    }
}

versioned!(events, event_id: EventId, Event, pub fn insert);

/// Notes which squads events now invite; none when one is gone.
///
/// # Errors
/// `Reference` when a squad is not there.
pub fn set_squads(
    conn: &mut Conn,
    tenant: Tenant,
    of_each: &[(EventId, &[SquadId])],
) -> Result<(), StoreError> {
    let events: Vec<EventId> = of_each.iter().map(|(event_id, _)| *event_id).collect();
    for chunk in sorted_chunks(&events) {
        each_backend!(conn, |c| diesel::delete(event_squads::table)
            .filter(event_squads::club_id.eq(tenant.club_id()))
            .filter(event_squads::event_id.eq_any(&chunk))
            .execute(c))?;
    }
    let rows = of_each.iter().flat_map(|(event_id, squads)| {
        squads.iter().map(move |squad_id| {
            (
                event_squads::club_id.eq(tenant.club_id()),
                event_squads::event_id.eq(*event_id),
                event_squads::squad_id.eq(*squad_id),
            )
        })
    });
    for batch in batches(rows) {
        each_backend!(conn, |c| diesel::insert_into(event_squads::table)
            .values(batch)
            .execute(c))?;
    }
    Ok(())
}

/// The undeleted events whose load date lies in `from..=to`, by start and id.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    from: Date,
    to: Date,
    state: Known,
) -> Result<Vec<Versioned<Event>>, StoreError> {
    each_backend!(conn, |c| {
        let query = events::table
            .filter(events::club_id.eq(tenant.club_id()))
            .filter(events::load_date.between(Sql(from), Sql(to)))
            .filter(not(events::deleted))
            .into_boxed();
        known!(events, query, state)
            .order((events::starts_at, events::event_id))
            .select((Event::as_select(), version_columns!(events)))
            .load(c)
    })
}

/// The dates in `from..=to` on which some squads have events, as known now, by squad and date, each once.
///
/// # Errors
/// Those of the database.
pub fn dates_of_squads(
    conn: &mut Conn,
    tenant: Tenant,
    squads: &[SquadId],
    from: Date,
    to: Date,
) -> Result<Vec<(SquadId, Date)>, StoreError> {
    let mut found = Vec::new();
    for chunk in sorted_chunks(squads) {
        let dates: Vec<(SquadId, Sql<Date>)> = each_backend!(conn, |c| events::table
            .inner_join(
                event_squads::table.on(event_squads::club_id
                    .eq(events::club_id)
                    .and(event_squads::event_id.eq(events::event_id)))
            )
            .filter(events::club_id.eq(tenant.club_id()))
            .filter(event_squads::squad_id.eq_any(&chunk))
            .filter(events::load_date.between(Sql(from), Sql(to)))
            .filter(events::superseded_at.is_null())
            .filter(not(events::deleted))
            .order((event_squads::squad_id, events::load_date))
            .select((event_squads::squad_id, events::load_date))
            .distinct()
            .load(c))?;
        found.extend(dates.into_iter().map(|(squad, Sql(date))| (squad, date)));
    }
    Ok(found)
}

/// The current event of a source by its natural key, deleted or not.
///
/// # Errors
/// Those of the database.
pub fn by_natural_key(
    conn: &mut Conn,
    tenant: Tenant,
    source: &str,
    natural_key: &str,
) -> Result<Option<Versioned<Event>>, StoreError> {
    each_backend!(conn, |c| events::table
        .filter(events::club_id.eq(tenant.club_id()))
        .filter(events::source.eq(source))
        .filter(events::natural_key.eq(natural_key))
        .filter(events::superseded_at.is_null())
        .select((Event::as_select(), version_columns!(events)))
        .first(c)
        .optional())
}

/// The current, undeleted events of a calendar from a date on, by start and id.
///
/// # Errors
/// Those of the database.
pub fn of_calendar(
    conn: &mut Conn,
    tenant: Tenant,
    calendar_id: CalendarId,
    from: Date,
) -> Result<Vec<Versioned<Event>>, StoreError> {
    each_backend!(conn, |c| events::table
        .filter(events::club_id.eq(tenant.club_id()))
        .filter(events::calendar_id.eq(calendar_id))
        .filter(events::load_date.ge(Sql(from)))
        .filter(events::superseded_at.is_null())
        .filter(not(events::deleted))
        .order((events::starts_at, events::event_id))
        .select((Event::as_select(), version_columns!(events)))
        .load(c))
}

/// The current events of a source by their natural keys, deleted or not.
///
/// # Errors
/// Those of the database.
pub fn by_natural_keys(
    conn: &mut Conn,
    tenant: Tenant,
    source: &str,
    natural_keys: &[&str],
) -> Result<Vec<Versioned<Event>>, StoreError> {
    let mut found = Vec::new();
    for chunk in natural_keys.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| events::table
            .filter(events::club_id.eq(tenant.club_id()))
            .filter(events::source.eq(source))
            .filter(events::natural_key.eq_any(chunk))
            .filter(events::superseded_at.is_null())
            .select((Event::as_select(), version_columns!(events)))
            .load(c))?);
    }
    Ok(found)
}

/// The current, undeleted events of these external ids, whatever their source.
///
/// # Errors
/// Those of the database.
pub fn by_external_ids(
    conn: &mut Conn,
    tenant: Tenant,
    external_ids: &[&str],
) -> Result<Vec<Versioned<Event>>, StoreError> {
    let mut found = Vec::new();
    for chunk in external_ids.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| events::table
            .filter(events::club_id.eq(tenant.club_id()))
            .filter(events::external_id.eq_any(chunk))
            .filter(events::superseded_at.is_null())
            .filter(not(events::deleted))
            .order(events::event_id)
            .select((Event::as_select(), version_columns!(events)))
            .load(c))?);
    }
    Ok(found)
}

/// Which events a list shows; `None` does not restrict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EventFilter<'a> {
    /// First load date.
    pub from: Date,
    /// Last load date.
    pub to: Date,
    /// That invite this squad.
    pub squad: Option<SquadId>,
    /// That invite one of these athletes, by squad or by name.
    pub invited: Option<&'a [AthleteId]>,
    /// That invite one of these squads or one of these athletes: a coach's reach.
    pub reach: Option<(&'a [SquadId], &'a [AthleteId])>,
}

/// Invitations of these athletes to the same event.
macro_rules! invites {
    ($tenant:expr, $athletes:expr) => {
        expected_sessions::table
            .filter(expected_sessions::club_id.eq($tenant.club_id()))
            .filter(expected_sessions::event_id.eq(events::event_id))
            .filter(expected_sessions::athlete_id.eq_any($athletes))
    };
}

/// Squads of the same event.
macro_rules! invites_squad {
    ($tenant:expr, $squads:expr) => {
        event_squads::table
            .filter(event_squads::club_id.eq($tenant.club_id()))
            .filter(event_squads::event_id.eq(events::event_id))
            .filter(event_squads::squad_id.eq_any($squads))
    };
}

/// A page of current, undeleted events by start and id, after the given key.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    filter: EventFilter<'_>,
    after: Option<(Timestamp, EventId)>,
    limit: i64,
) -> Result<Vec<Versioned<Event>>, StoreError> {
    use diesel::dsl::exists;
    each_backend!(conn, |c| {
        let mut query = events::table
            .filter(events::club_id.eq(tenant.club_id()))
            .filter(events::load_date.between(Sql(filter.from), Sql(filter.to)))
            .filter(events::superseded_at.is_null())
            .filter(not(events::deleted))
            .into_boxed();
        if let Some(squad) = filter.squad {
            query = query.filter(exists(invites_squad!(tenant, [squad])));
        }
        if let Some(athletes) = filter.invited {
            query = query.filter(exists(invites!(tenant, athletes)));
        }
        if let Some((squads, athletes)) = filter.reach {
            let squads = exists(invites_squad!(tenant, squads));
            query = query.filter(squads.or(exists(invites!(tenant, athletes))));
        }
        if let Some((starts_at, event_id)) = after {
            let same_start = events::starts_at
                .eq(Sql(starts_at))
                .and(events::event_id.gt(event_id));
            query = query.filter(events::starts_at.gt(Sql(starts_at)).or(same_start));
        }
        query
            .order((events::starts_at, events::event_id))
            .limit(limit)
            .select((Event::as_select(), version_columns!(events)))
            .load(c)
    })
}
