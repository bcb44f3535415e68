//! Whom a roster names as an athlete's guardian: the roster's own key, without a name.

use jiff::civil::Date;

use super::schema::guardian_links;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, GuardianLinkId};

/// The time in which somebody is an athlete's guardian, both ends included.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = guardian_links, treat_none_as_default_value = false)]
pub struct GuardianLink {
    /// Its id.
    pub guardian_link_id: GuardianLinkId,
    /// The athlete.
    pub athlete_id: AthleteId,
    /// The roster's own key of the guardian.
    pub external_id: String,
    /// The first day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub from_date: Date,
    /// The last day, once it is known.
    #[diesel(serialize_as = Sql<Option<Date>>, deserialize_as = Sql<Option<Date>>)]
    pub to_date: Option<Date>,
}

versioned!(guardian_links, guardian_link_id: GuardianLinkId, GuardianLink, pub fn insert);

/// The undeleted links of a state of knowledge, by athlete, first day and id.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    state: Known,
) -> Result<Vec<Versioned<GuardianLink>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = guardian_links::table
                .filter(guardian_links::club_id.eq(tenant.club_id()))
                .filter(not(guardian_links::deleted))
                .into_boxed();
            known!(
                guardian_links,
                of_whom!(guardian_links, query, tenant, who),
                state
            )
            .order((
                guardian_links::athlete_id,
                guardian_links::from_date,
                guardian_links::guardian_link_id,
            ))
            .select((GuardianLink::as_select(), version_columns!(guardian_links)))
            .load(c)
        })
    })
}
