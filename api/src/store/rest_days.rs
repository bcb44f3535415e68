//! Days declared as rest: a positive entry, not a gap.

use jiff::civil::Date;
use plimsoll_domain::GivenBy;

use super::days::DaySet;
use super::schema::rest_days;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, RestDayId};

/// A day of rest.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = rest_days, treat_none_as_default_value = false)]
pub struct RestDay {
    /// Its id.
    pub rest_day_id: RestDayId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub date: Date,
    /// Who said so.
    #[diesel(serialize_as = Sql<GivenBy>, deserialize_as = Sql<GivenBy>)]
    pub given_by: GivenBy,
}

versioned!(rest_days, rest_day_id: RestDayId, RestDay, pub fn insert);

/// The undeleted rest days of `from..=to`, by athlete and date.
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
) -> Result<Vec<Versioned<RestDay>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = rest_days::table
                .filter(rest_days::club_id.eq(tenant.club_id()))
                .filter(rest_days::date.between(Sql(from), Sql(to)))
                .filter(not(rest_days::deleted))
                .into_boxed();
            known!(rest_days, of_whom!(rest_days, query, tenant, who), state)
                .order((
                    rest_days::athlete_id,
                    rest_days::date,
                    rest_days::rest_day_id,
                ))
                .select((RestDay::as_select(), version_columns!(rest_days)))
                .load(c)
        })
    })
}

/// The current, undeleted rest days among exactly these days.
///
/// # Errors
/// Those of the database.
pub fn on_days(
    conn: &mut Conn,
    tenant: Tenant,
    days: &DaySet,
) -> Result<Vec<Versioned<RestDay>>, StoreError> {
    let day_of = |rest: &Versioned<RestDay>| (rest.content.athlete_id, rest.content.date);
    days.read(day_of, |who, from, to| {
        in_dates(conn, tenant, who, from, to, Known::Now)
    })
}

/// A page of the current, undeleted rest days of `from..=to` by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    after: Option<RestDayId>,
    limit: i64,
) -> Result<Vec<Versioned<RestDay>>, StoreError> {
    each_backend!(conn, |c| {
        let query = rest_days::table
            .filter(rest_days::club_id.eq(tenant.club_id()))
            .filter(rest_days::date.between(Sql(from), Sql(to)))
            .filter(rest_days::superseded_at.is_null())
            .filter(not(rest_days::deleted))
            .into_boxed();
        let mut query = of_whom!(rest_days, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(rest_days::rest_day_id.gt(after));
        }
        query
            .order(rest_days::rest_day_id)
            .limit(limit)
            .select((RestDay::as_select(), version_columns!(rest_days)))
            .load(c)
    })
}
