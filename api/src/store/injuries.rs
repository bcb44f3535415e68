//! Which side was hurt and when: what tests of the sides are read against. No diagnosis.

use jiff::civil::Date;
use plimsoll_domain::Side;

use super::schema::injuries;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, InjuryId};

/// An injury, as far as tests need it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = injuries, treat_none_as_default_value = false)]
pub struct Injury {
    /// Its id.
    pub injury_id: InjuryId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Which side.
    #[diesel(serialize_as = Sql<Side>, deserialize_as = Sql<Side>)]
    pub side: Side,
    /// When it happened.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub injured_on: Date,
    /// When it was operated on.
    #[diesel(serialize_as = Sql<Option<Date>>, deserialize_as = Sql<Option<Date>>)]
    pub surgery_on: Option<Date>,
}

versioned!(injuries, injury_id: InjuryId, Injury, pub fn insert);

/// The undeleted injuries up to `to`, by athlete, day and id.
///
/// # Errors
/// Those of the database.
pub fn until(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    to: Date,
    state: Known,
) -> Result<Vec<Versioned<Injury>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = injuries::table
                .filter(injuries::club_id.eq(tenant.club_id()))
                .filter(injuries::injured_on.le(Sql(to)))
                .filter(not(injuries::deleted))
                .into_boxed();
            known!(injuries, of_whom!(injuries, query, tenant, who), state)
                .order((
                    injuries::athlete_id,
                    injuries::injured_on,
                    injuries::injury_id,
                ))
                .select((Injury::as_select(), version_columns!(injuries)))
                .load(c)
        })
    })
}

/// A page of the current, undeleted injuries by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    after: Option<InjuryId>,
    limit: i64,
) -> Result<Vec<Versioned<Injury>>, StoreError> {
    each_backend!(conn, |c| {
        let query = injuries::table
            .filter(injuries::club_id.eq(tenant.club_id()))
            .filter(injuries::injured_on.between(Sql(from), Sql(to)))
            .filter(injuries::superseded_at.is_null())
            .filter(not(injuries::deleted))
            .into_boxed();
        let mut query = of_whom!(injuries, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(injuries::injury_id.gt(after));
        }
        query
            .order(injuries::injury_id)
            .limit(limit)
            .select((Injury::as_select(), version_columns!(injuries)))
            .load(c)
    })
}
