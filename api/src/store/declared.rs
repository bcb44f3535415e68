//! What a joiner says of the time before: a range, never mixed into a figure.

use plimsoll_domain::GivenBy;

use super::schema::declared_histories;
use super::versioned::prelude::*;
use crate::ids::{AthleteId, DeclaredHistoryId};

/// Usual minutes and ratings of a week before joining.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = declared_histories, treat_none_as_default_value = false)]
pub struct DeclaredHistory {
    /// Its id.
    pub declared_id: DeclaredHistoryId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The least minutes of a usual week.
    pub weekly_minutes_low: i32,
    /// The most.
    pub weekly_minutes_high: i32,
    /// The lowest usual rating, in half steps.
    pub rpe_half_low: i32,
    /// The highest.
    pub rpe_half_high: i32,
    /// Who said so.
    #[diesel(serialize_as = Sql<GivenBy>, deserialize_as = Sql<GivenBy>)]
    pub given_by: GivenBy,
}

versioned!(declared_histories, declared_id: DeclaredHistoryId, DeclaredHistory, pub fn insert);

/// What is declared for an athlete, in a state of knowledge.
///
/// # Errors
/// Those of the database.
pub fn of_athlete(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    state: Known,
) -> Result<Option<Versioned<DeclaredHistory>>, StoreError> {
    each_backend!(conn, |c| {
        let query = declared_histories::table
            .filter(declared_histories::club_id.eq(tenant.club_id()))
            .filter(declared_histories::athlete_id.eq(athlete_id))
            .filter(not(declared_histories::deleted))
            .into_boxed();
        known!(declared_histories, query, state)
            .order(declared_histories::declared_id.desc())
            .select((
                DeclaredHistory::as_select(),
                version_columns!(declared_histories),
            ))
            .first(c)
            .optional()
    })
}
