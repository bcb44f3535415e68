//! What athletes say about pain: whether something hurts, and where. No diagnosis.

use jiff::civil::Date;
use plimsoll_domain::{BodyArea, Side};

use super::schema::pain_reports;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, PainReportId};

/// What was said about pain on a day.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = pain_reports, treat_none_as_default_value = false)]
pub struct PainReport {
    /// Its id.
    pub pain_report_id: PainReportId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Which day it is about, at her home.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub felt_on: Date,
    /// Where it hurts; `None` where nothing does.
    #[diesel(serialize_as = Sql<Option<BodyArea>>, deserialize_as = Sql<Option<BodyArea>>)]
    pub area: Option<BodyArea>,
    /// On which side, where that was said.
    #[diesel(serialize_as = Sql<Option<Side>>, deserialize_as = Sql<Option<Side>>)]
    pub side: Option<Side>,
}

versioned!(pain_reports, pain_report_id: PainReportId, PainReport, pub fn insert);

/// The undeleted reports of days in `from..=to`, by athlete, day and id.
///
/// # Errors
/// Those of the database.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    state: Known,
) -> Result<Vec<Versioned<PainReport>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = pain_reports::table
                .filter(pain_reports::club_id.eq(tenant.club_id()))
                .filter(pain_reports::felt_on.between(Sql(from), Sql(to)))
                .filter(not(pain_reports::deleted))
                .into_boxed();
            known!(
                pain_reports,
                of_whom!(pain_reports, query, tenant, who),
                state
            )
            .order((
                pain_reports::athlete_id,
                pain_reports::felt_on,
                pain_reports::pain_report_id,
            ))
            .select((PainReport::as_select(), version_columns!(pain_reports)))
            .load(c)
        })
    })
}

/// A page of the current, undeleted reports by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    after: Option<PainReportId>,
    limit: i64,
) -> Result<Vec<Versioned<PainReport>>, StoreError> {
    each_backend!(conn, |c| {
        let query = pain_reports::table
            .filter(pain_reports::club_id.eq(tenant.club_id()))
            .filter(pain_reports::felt_on.between(Sql(from), Sql(to)))
            .filter(pain_reports::superseded_at.is_null())
            .filter(not(pain_reports::deleted))
            .into_boxed();
        let mut query = of_whom!(pain_reports, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(pain_reports::pain_report_id.gt(after));
        }
        query
            .order(pain_reports::pain_report_id)
            .limit(limit)
            .select((PainReport::as_select(), version_columns!(pain_reports)))
            .load(c)
    })
}
