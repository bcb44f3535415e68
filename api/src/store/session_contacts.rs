//! Landings and throws counted in a session. What nobody counted is `None`, never 0.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::CountBasis;

use super::schema::{session_contacts, session_reports};
use super::versioned::prelude::*;
use crate::ids::{AthleteId, SessionId};

/// What was counted in a session.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = session_contacts, treat_none_as_default_value = false)]
pub struct SessionContacts {
    /// The report of the session.
    pub session_id: SessionId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Landings on both feet.
    pub both_feet: Option<i32>,
    /// Landings on the left foot alone.
    pub left_foot: Option<i32>,
    /// Landings on the right foot alone.
    pub right_foot: Option<i32>,
    /// How many of those on feet were under load.
    pub loaded: Option<i32>,
    /// Landings on hands.
    pub hands: Option<i32>,
    /// Throws.
    pub throws: Option<i32>,
    /// Whether they were counted or estimated.
    #[diesel(serialize_as = Sql<CountBasis>, deserialize_as = Sql<CountBasis>)]
    pub basis: CountBasis,
}

versioned!(session_contacts, session_id: SessionId, SessionContacts, pub fn insert);

/// The undeleted counts of these sessions, by session.
///
/// # Errors
/// Those of the database.
pub fn of_sessions(
    conn: &mut Conn,
    tenant: Tenant,
    sessions: &[SessionId],
    state: Known,
) -> Result<Vec<SessionContacts>, StoreError> {
    let mut found = Vec::new();
    for sessions in sorted_chunks(sessions) {
        found.append(&mut each_backend!(conn, |c| {
            let query = session_contacts::table
                .filter(session_contacts::club_id.eq(tenant.club_id()))
                .filter(session_contacts::session_id.eq_any(&sessions))
                .filter(not(session_contacts::deleted))
                .into_boxed();
            known!(session_contacts, query, state)
                .order(session_contacts::session_id)
                .select(SessionContacts::as_select())
                .load(c)
        })?);
    }
    Ok(found)
}

/// Start and minutes of an athlete's last report before a load date in whose session landings on feet were counted.
///
/// # Errors
/// Those of the database.
pub fn last_jumps_before(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    date: Date,
    state: Known,
) -> Result<Option<(Timestamp, i32)>, StoreError> {
    let found: Option<(Sql<Timestamp>, i32)> = each_backend!(conn, |c| {
        let same_session = session_reports::club_id
            .eq(session_contacts::club_id)
            .and(session_reports::session_id.eq(session_contacts::session_id));
        let on_feet = session_contacts::both_feet
            .gt(0)
            .or(session_contacts::left_foot.gt(0))
            .or(session_contacts::right_foot.gt(0));
        let query = session_contacts::table
            .inner_join(session_reports::table.on(same_session))
            .filter(session_contacts::club_id.eq(tenant.club_id()))
            .filter(session_contacts::athlete_id.eq(athlete_id))
            .filter(on_feet)
            .filter(not(session_contacts::deleted))
            .filter(session_reports::load_date.lt(Sql(date)))
            .filter(not(session_reports::deleted))
            .into_boxed();
        let query = known!(session_contacts, query, state);
        known!(session_reports, query, state)
            .order(session_reports::started_at.desc())
            .select((session_reports::started_at, session_reports::minutes))
            .first(c)
            .optional()
    })?;
    Ok(found.map(|(Sql(started_at), minutes)| (started_at, minutes)))
}
