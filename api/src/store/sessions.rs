//! Session reports: who, when, how long, how hard.

use jiff::civil::{Date, Time};
use jiff::tz::Offset;
use jiff::{Span, Timestamp};
use plimsoll_domain::{Basis, GivenBy, Kind, Setting};

use super::days::DaySet;
use super::prepared::prepared_if;
use super::schema::session_reports;
use super::seal::{Private, opened_versions, sealed_row};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, SessionId};

sealed_row! {
    /// A session report as stored.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Session {
        /// Its id.
        pub session_id: SessionId,
        /// Whose it is.
        pub athlete_id: AthleteId,
        /// The client that sent it.
        pub source: String,
        /// What makes it the same report when the source sends it again.
        pub natural_key: String,
        /// The client's own id.
        pub external_id: Option<String>,
        /// The planned event it belongs to, by the client's key.
        pub event_external_id: Option<String>,
        /// When it began.
        pub started_at: Timestamp as Sql<Timestamp>,
        /// The offset of local time from UTC when it began, in seconds.
        pub utc_offset_seconds: i32,
        /// The IANA zone, where it is known.
        pub time_zone: Option<String>,
        /// The local date of its start, which its load belongs to.
        pub load_date: Date as Sql<Date>,
        /// Whole minutes.
        pub minutes: i32,
        /// Minutes before local midnight, only when the session crosses it.
        pub minutes_before_midnight: Option<i32>,
        /// The rating in half steps, 0 to 20.
        pub rpe_half: i32,
        /// Who ran the session.
        pub setting: Setting as Sql<Setting>,
        /// What was done.
        pub kind: Kind as Sql<Kind>,
        /// What the minutes cover.
        pub basis: Basis as Sql<Basis>,
        /// When the rating was given.
        pub given_at: Timestamp as Sql<Timestamp>,
        /// Who gave it.
        pub given_by: GivenBy as Sql<GivenBy>,
    }
    sealed {
        /// A note.
        pub note: Option<Private<String>>,
        /// Why it was changed, sent late or deleted.
        pub reason: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = session_reports, treat_none_as_default_value = false)]
    struct Row in session_reports by session_id
}

versioned!(session_reports, session_id: SessionId, Session kept as Row, pub fn insert);

/// Which sessions a list shows; `None` does not restrict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SessionFilter<'a> {
    /// Of whom.
    pub who: Who<'a>,
    /// From this load date on.
    pub from: Option<Date>,
    /// Up to this load date.
    pub to: Option<Date>,
}

/// A page of current, undeleted reports by start and id, after the given key.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    filter: SessionFilter<'_>,
    after: Option<(Timestamp, SessionId)>,
    limit: i64,
) -> Result<Vec<Versioned<Session>>, StoreError> {
    let found = each_backend!(conn, |c| {
        let query = session_reports::table
            .filter(session_reports::club_id.eq(tenant.club_id()))
            .filter(session_reports::superseded_at.is_null())
            .filter(not(session_reports::deleted))
            .into_boxed();
        let mut query = of_whom!(session_reports, query, tenant, filter.who);
        if let Some(from) = filter.from {
            query = query
                .filter(session_reports::load_date.ge(Sql(from)))
                .filter(session_reports::started_at.ge(Sql(midnight(from, -2))));
        }
        if let Some(to) = filter.to {
            query = query
                .filter(session_reports::load_date.le(Sql(to)))
                .filter(session_reports::started_at.le(Sql(midnight(to, 3))));
        }
        if let Some((started_at, session_id)) = after {
            query = query.filter(
                session_reports::started_at
                    .gt(Sql(started_at))
                    .or(session_reports::started_at
                        .eq(Sql(started_at))
                        .and(session_reports::session_id.gt(session_id))),
            );
        }
        query
            .order((session_reports::started_at, session_reports::session_id))
            .limit(limit)
            .select((Row::as_select(), version_columns!(session_reports)))
            .load(c)
    })?;
    opened_versions::<Row>(conn, tenant, found)
}

/// Midnight UTC some days after a date. A load date is the local date of the start, so a start lies
/// less than two days from it in any zone; bounding the start lets a list begin and end in the
/// middle of its index.
fn midnight(date: Date, days_after: i32) -> Timestamp {
    let day = date.saturating_add(Span::new().days(days_after));
    let beyond = if days_after < 0 {
        Timestamp::MIN
    } else {
        Timestamp::MAX
    };
    Offset::UTC
        .to_timestamp(day.to_datetime(Time::midnight()))
        .unwrap_or(beyond)
}

/// The current reports of a source by their natural keys, deleted ones included.
///
/// # Errors
/// Those of the database.
pub fn by_natural_keys(
    conn: &mut Conn,
    tenant: Tenant,
    source: &str,
    natural_keys: &[String],
) -> Result<Vec<Versioned<Session>>, StoreError> {
    let mut found = Vec::with_capacity(natural_keys.len());
    for chunk in natural_keys.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| prepared_if(
            chunk.len() == 1,
            session_reports::table
                .filter(session_reports::club_id.eq(tenant.club_id()))
                .filter(session_reports::source.eq(source))
                .filter(session_reports::natural_key.eq_any(chunk))
                .filter(session_reports::superseded_at.is_null())
                .select((Row::as_select(), version_columns!(session_reports)))
        )
        .load(c))?);
    }
    opened_versions::<Row>(conn, tenant, found)
}

/// The current, undeleted reports whose load dates are exactly these days; those of an athlete by date
/// and start.
///
/// # Errors
/// Those of the database.
pub fn on_days(
    conn: &mut Conn,
    tenant: Tenant,
    days: &DaySet,
) -> Result<Vec<Versioned<Session>>, StoreError> {
    let day_of =
        |report: &Versioned<Session>| (report.content.athlete_id, report.content.load_date);
    days.read(day_of, |who, from, to| {
        in_dates(conn, tenant, who, from, to, Known::Now)
    })
}

/// The undeleted reports whose load date lies in `from..=to`, by athlete, date and start.
///
/// A session that crosses midnight has its load date before it: where the policy splits loads at
/// midnight, read from the day before.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    from: Date,
    to: Date,
    state: Known,
) -> Result<Vec<Versioned<Session>>, StoreError> {
    let found = who.read(|who| {
        each_backend!(conn, |c| {
            let query = session_reports::table
                .filter(session_reports::club_id.eq(tenant.club_id()))
                .filter(session_reports::load_date.between(Sql(from), Sql(to)))
                .filter(not(session_reports::deleted))
                .into_boxed();
            known!(
                session_reports,
                of_whom!(session_reports, query, tenant, who),
                state
            )
            .order((
                session_reports::athlete_id,
                session_reports::load_date,
                session_reports::started_at,
                session_reports::session_id,
            ))
            .select((Row::as_select(), version_columns!(session_reports)))
            .load(c)
        })
    })?;
    opened_versions::<Row>(conn, tenant, found)
}

/// Whose current reports of these dates name an event of one of these external ids: athlete, external id and load date.
///
/// # Errors
/// Those of the database.
pub fn naming_events(
    conn: &mut Conn,
    tenant: Tenant,
    external_ids: &[&str],
    from: Date,
    to: Date,
) -> Result<Vec<(AthleteId, String, Date)>, StoreError> {
    let mut found: Vec<(AthleteId, String, Sql<Date>)> = Vec::new();
    for chunk in external_ids.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| session_reports::table
            .filter(session_reports::club_id.eq(tenant.club_id()))
            .filter(session_reports::event_external_id.eq_any(chunk))
            .filter(session_reports::load_date.between(Sql(from), Sql(to)))
            .filter(session_reports::superseded_at.is_null())
            .filter(not(session_reports::deleted))
            .select((
                session_reports::athlete_id,
                session_reports::event_external_id.assume_not_null(),
                session_reports::load_date,
            ))
            .distinct()
            .load(c))?);
    }
    let plain = found
        .into_iter()
        .map(|(athlete, id, Sql(date))| (athlete, id, date));
    Ok(plain.collect())
}

/// Whose current reports cross midnight, and on which load dates from `from` on, each once.
///
/// # Errors
/// Those of the database.
pub fn crossing_midnight(
    conn: &mut Conn,
    tenant: Tenant,
    from: Date,
) -> Result<Vec<(AthleteId, Date)>, StoreError> {
    let rows: Vec<(AthleteId, Sql<Date>)> = each_backend!(conn, |c| session_reports::table
        .filter(session_reports::club_id.eq(tenant.club_id()))
        .filter(session_reports::load_date.ge(Sql(from)))
        .filter(session_reports::minutes_before_midnight.is_not_null())
        .filter(session_reports::superseded_at.is_null())
        .filter(not(session_reports::deleted))
        .order((session_reports::athlete_id, session_reports::load_date))
        .select((session_reports::athlete_id, session_reports::load_date))
        .distinct()
        .load(c))?;
    Ok(rows
        .into_iter()
        .map(|(athlete, Sql(date))| (athlete, date))
        .collect())
}
