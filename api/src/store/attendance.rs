//! Attendance: who took part in a planned session, as the list of those present says.

use plimsoll_domain::GivenBy;

use super::codes::AttendanceStatus;
use super::schema::attendance;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, AttendanceId, EventId};

/// What the list says of one athlete.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = attendance, treat_none_as_default_value = false)]
pub struct Attendance {
    /// Its id.
    pub attendance_id: AttendanceId,
    /// The planned session.
    pub event_id: EventId,
    /// Whom it is about.
    pub athlete_id: AthleteId,
    /// Whether she took part.
    #[diesel(serialize_as = Sql<AttendanceStatus>, deserialize_as = Sql<AttendanceStatus>)]
    pub status: AttendanceStatus,
    /// Minutes she took part, where they were measured.
    pub minutes: Option<i32>,
    /// Whether it was confirmed against the athlete's own report.
    pub confirmed: bool,
    /// Who said so.
    #[diesel(serialize_as = Sql<GivenBy>, deserialize_as = Sql<GivenBy>)]
    pub given_by: GivenBy,
}

versioned!(attendance, attendance_id: AttendanceId, Attendance, pub fn insert);

/// The current entry of one athlete at one event, when it is not deleted.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    event_id: EventId,
    athlete_id: AthleteId,
) -> Result<Option<Versioned<Attendance>>, StoreError> {
    each_backend!(conn, |c| attendance::table
        .filter(attendance::club_id.eq(tenant.club_id()))
        .filter(attendance::event_id.eq(event_id))
        .filter(attendance::athlete_id.eq(athlete_id))
        .filter(attendance::superseded_at.is_null())
        .filter(not(attendance::deleted))
        .select((Attendance::as_select(), version_columns!(attendance)))
        .first(c)
        .optional())
}

/// The undeleted entries of these events, by athlete and event.
///
/// # Errors
/// Those of the database.
pub fn of_events(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    events: &[EventId],
    state: Known,
) -> Result<Vec<Versioned<Attendance>>, StoreError> {
    let mut found = Vec::new();
    for events in sorted_chunks(events) {
        found.append(&mut who.read(|who| {
            each_backend!(conn, |c| {
                let query = attendance::table
                    .filter(attendance::club_id.eq(tenant.club_id()))
                    .filter(attendance::event_id.eq_any(&events))
                    .filter(not(attendance::deleted))
                    .into_boxed();
                known!(attendance, of_whom!(attendance, query, tenant, who), state)
                    .order((attendance::athlete_id, attendance::event_id))
                    .select((Attendance::as_select(), version_columns!(attendance)))
                    .load(c)
            })
        })?);
    }
    Ok(found)
}

/// A page of the current, undeleted entries by id, after the given one; of one event where it is
/// named.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    event: Option<EventId>,
    after: Option<AttendanceId>,
    limit: i64,
) -> Result<Vec<Versioned<Attendance>>, StoreError> {
    each_backend!(conn, |c| {
        let query = attendance::table
            .filter(attendance::club_id.eq(tenant.club_id()))
            .filter(attendance::superseded_at.is_null())
            .filter(not(attendance::deleted))
            .into_boxed();
        let mut query = of_whom!(attendance, query, tenant, who);
        if let Some(event) = event {
            query = query.filter(attendance::event_id.eq(event));
        }
        if let Some(after) = after {
            query = query.filter(attendance::attendance_id.gt(after));
        }
        query
            .order(attendance::attendance_id)
            .limit(limit)
            .select((Attendance::as_select(), version_columns!(attendance)))
            .load(c)
    })
}
