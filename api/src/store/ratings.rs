//! Ratings alone, for what an athlete usually gives: a narrow read of her reports.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{GivenBy, Kind};

use super::schema::session_reports;
use super::types::Sql;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use super::{Conn, StoreError, Tenant};
use crate::ids::AthleteId;

/// One rating that an athlete gave herself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Queryable)]
pub struct Rating {
    /// Who.
    pub athlete_id: AthleteId,
    /// Of which kind of session.
    #[diesel(deserialize_as = Sql<Kind>)]
    pub kind: Kind,
    /// When the session began.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub started_at: Timestamp,
    /// The date the session belongs to.
    #[diesel(deserialize_as = Sql<Date>)]
    pub load_date: Date,
    /// Minutes as she reported them.
    pub minutes: i32,
    /// When she gave it.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub given_at: Timestamp,
    /// The rating in half steps, 0 to 20.
    pub rpe_half: i32,
}

/// The ratings that athletes gave themselves of sessions whose load date lies in `from..=to`, by
/// athlete and start, the one given last of a start at the end.
///
/// # Errors
/// Those of the database.
pub fn own_in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    from: Date,
    to: Date,
    state: Known,
) -> Result<Vec<Rating>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = session_reports::table
                .filter(session_reports::club_id.eq(tenant.club_id()))
                .filter(session_reports::load_date.between(Sql(from), Sql(to)))
                .filter(session_reports::given_by.eq(Sql(GivenBy::Athlete)))
                .filter(not(session_reports::deleted))
                .into_boxed();
            known!(
                session_reports,
                of_whom!(session_reports, query, tenant, who),
                state
            )
            .order((
                session_reports::athlete_id,
                session_reports::started_at,
                session_reports::given_at,
                session_reports::session_id,
            ))
            .select((
                session_reports::athlete_id,
                session_reports::kind,
                session_reports::started_at,
                session_reports::load_date,
                session_reports::minutes,
                session_reports::given_at,
                session_reports::rpe_half,
            ))
            .load(c)
        })
    })
}
