//! What a clinician limits, from when on, and when it is looked at again.

use jiff::civil::Date;

use super::codes::{RestrictedTo, WrittenClearance};
use super::schema::restrictions;
use super::seal::{Private, opened_versions, sealed_row};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, RestrictionId};

sealed_row! {
    /// A restriction.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Restriction {
        /// Its id.
        pub restriction_id: RestrictionId,
        /// Whose it is.
        pub athlete_id: AthleteId,
        /// The first day.
        pub from_date: Date as Sql<Date>,
        /// The last day; `None` until a clinician sets one.
        pub until_date: Option<Date> as Sql<Option<Date>>,
        /// The day from which a coach has to ask.
        pub review_date: Date as Sql<Date>,
        /// Within limits, or not at all.
        pub availability: RestrictedTo as Sql<RestrictedTo>,
        /// Most minutes of a session.
        pub max_minutes: Option<i32>,
        /// Most load of seven days, whole AU.
        pub max_week_au: Option<i32>,
        /// Most landing contacts of a session.
        pub max_contacts: Option<i32>,
        /// No games.
        pub no_games: bool,
        /// No jumps.
        pub no_jumps: bool,
        /// No throws.
        pub no_throws: bool,
        /// No contact with others.
        pub no_contact: bool,
        /// What a written clearance is needed after; clinicians alone read which.
        pub written_clearance: Option<WrittenClearance> as Sql<Option<WrittenClearance>>,
    }
    sealed {
        /// What coaches are told beside the limits.
        pub instruction: Option<Private<String>>,
        /// What clinicians alone read.
        pub note: Option<Private<String>>,
        /// Why it was taken back.
        pub reason: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = restrictions, treat_none_as_default_value = false)]
    struct Row in restrictions by restriction_id
}

versioned!(restrictions, restriction_id: RestrictionId, Restriction kept as Row, pub fn insert);

/// The undeleted restrictions with a day in `from..=to`, by athlete, first day and id. One without a
/// last day goes on.
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
) -> Result<Vec<Versioned<Restriction>>, StoreError> {
    let found = who.read(|who| {
        each_backend!(conn, |c| {
            let query = restrictions::table
                .filter(restrictions::club_id.eq(tenant.club_id()))
                .filter(restrictions::from_date.le(Sql(to)))
                .filter(
                    restrictions::until_date
                        .is_null()
                        .or(restrictions::until_date.ge(Sql(from))),
                )
                .filter(not(restrictions::deleted))
                .into_boxed();
            known!(
                restrictions,
                of_whom!(restrictions, query, tenant, who),
                state
            )
            .order((
                restrictions::athlete_id,
                restrictions::from_date,
                restrictions::restriction_id,
            ))
            .select((Row::as_select(), version_columns!(restrictions)))
            .load(c)
        })
    })?;
    opened_versions::<Row>(conn, tenant, found)
}

/// A page of the current, undeleted restrictions by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    after: Option<RestrictionId>,
    limit: i64,
) -> Result<Vec<Versioned<Restriction>>, StoreError> {
    let found = each_backend!(conn, |c| {
        let query = restrictions::table
            .filter(restrictions::club_id.eq(tenant.club_id()))
            .filter(restrictions::superseded_at.is_null())
            .filter(not(restrictions::deleted))
            .into_boxed();
        let mut query = of_whom!(restrictions, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(restrictions::restriction_id.gt(after));
        }
        query
            .order(restrictions::restriction_id)
            .limit(limit)
            .select((Row::as_select(), version_columns!(restrictions)))
            .load(c)
    })?;
    opened_versions::<Row>(conn, tenant, found)
}
