//! Spans of days away.

use jiff::civil::Date;
use plimsoll_domain::GivenBy;

use super::codes::AbsenceCategory;
use super::schema::absences;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AbsenceId, AthleteId};

/// A span of days away, both ends included.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = absences, treat_none_as_default_value = false)]
pub struct Absence {
    /// Its id.
    pub absence_id: AbsenceId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The first day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub from_date: Date,
    /// The last day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub to_date: Date,
    /// Why, as far as it is anyone's business.
    #[diesel(serialize_as = Sql<AbsenceCategory>, deserialize_as = Sql<AbsenceCategory>)]
    pub category: AbsenceCategory,
    /// Who said so.
    #[diesel(serialize_as = Sql<GivenBy>, deserialize_as = Sql<GivenBy>)]
    pub given_by: GivenBy,
}

versioned!(absences, absence_id: AbsenceId, Absence, pub fn insert);

/// The undeleted absences with a day in `from..=to`, by athlete, first day and id.
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
) -> Result<Vec<Versioned<Absence>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = absences::table
                .filter(absences::club_id.eq(tenant.club_id()))
                .filter(absences::from_date.le(Sql(to)))
                .filter(absences::to_date.ge(Sql(from)))
                .filter(not(absences::deleted))
                .into_boxed();
            known!(absences, of_whom!(absences, query, tenant, who), state)
                .order((
                    absences::athlete_id,
                    absences::from_date,
                    absences::absence_id,
                ))
                .select((Absence::as_select(), version_columns!(absences)))
                .load(c)
        })
    })
}

/// A page of the current, undeleted absences with a day in `from..=to` by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    after: Option<AbsenceId>,
    limit: i64,
) -> Result<Vec<Versioned<Absence>>, StoreError> {
    each_backend!(conn, |c| {
        let query = absences::table
            .filter(absences::club_id.eq(tenant.club_id()))
            .filter(absences::from_date.le(Sql(to)))
            .filter(absences::to_date.ge(Sql(from)))
            .filter(absences::superseded_at.is_null())
            .filter(not(absences::deleted))
            .into_boxed();
        let mut query = of_whom!(absences, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(absences::absence_id.gt(after));
        }
        query
            .order(absences::absence_id)
            .limit(limit)
            .select((Absence::as_select(), version_columns!(absences)))
            .load(c)
    })
}
