//! Why nothing of an athlete is erased by itself. A hold has one version, and a second, deleted one once it was lifted.

use jiff::civil::Date;

use crate::ids::{AthleteId, HoldId};
use crate::store::codes::{HoldEnd, HoldReason};
use crate::store::schema::retention_holds;
use crate::store::versioned::prelude::*;
use crate::store::who::{Who, of_whom};

/// A hold.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = retention_holds, treat_none_as_default_value = false)]
pub struct RetentionHold {
    /// Its id.
    pub hold_id: HoldId,
    /// Of whom nothing is erased.
    pub athlete_id: AthleteId,
    /// What for.
    #[diesel(serialize_as = Sql<HoldReason>, deserialize_as = Sql<HoldReason>)]
    pub reason: HoldReason,
    /// Its last day, where it has one.
    #[diesel(serialize_as = Sql<Option<Date>>, deserialize_as = Sql<Option<Date>>)]
    pub until_date: Option<Date>,
    /// Why it was lifted.
    #[diesel(serialize_as = Sql<Option<HoldEnd>>, deserialize_as = Sql<Option<HoldEnd>>)]
    pub lifted: Option<HoldEnd>,
}

versioned!(retention_holds, hold_id: HoldId, RetentionHold, pub fn insert);

/// The holds of athletes that were not lifted, by athlete and id.
///
/// # Errors
/// Those of the database.
pub fn of(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
) -> Result<Vec<Versioned<RetentionHold>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = retention_holds::table
                .filter(retention_holds::club_id.eq(tenant.club_id()))
                .filter(retention_holds::superseded_at.is_null())
                .filter(not(retention_holds::deleted))
                .into_boxed();
            of_whom!(retention_holds, query, tenant, who)
                .order((retention_holds::athlete_id, retention_holds::hold_id))
                .select((
                    RetentionHold::as_select(),
                    version_columns!(retention_holds),
                ))
                .load(c)
        })
    })
}

/// A page of an athlete's holds that were not lifted by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    after: Option<HoldId>,
    limit: i64,
) -> Result<Vec<Versioned<RetentionHold>>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = retention_holds::table
            .filter(retention_holds::club_id.eq(tenant.club_id()))
            .filter(retention_holds::athlete_id.eq(athlete_id))
            .filter(retention_holds::superseded_at.is_null())
            .filter(not(retention_holds::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(retention_holds::hold_id.gt(after));
        }
        query
            .order(retention_holds::hold_id)
            .limit(limit)
            .select((
                RetentionHold::as_select(),
                version_columns!(retention_holds),
            ))
            .load(c)
    })
}
