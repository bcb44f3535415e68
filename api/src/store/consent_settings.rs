//! From which age athletes of a club decide for themselves, and what needs consent there: versions that are added and never
//! changed, so that it can be told what was asked for when.

use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::consents::DataClasses;
use super::schema::consent_settings;
use super::types::Sql;
use super::{Author, Conn, Moment, StoreError, Tenant};

/// A version of the settings.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = consent_settings)]
pub struct ConsentSettings {
    /// 1, 2, 3, …
    pub version: i32,
    /// The age in completed years from which athletes decide for themselves.
    pub own_age: i32,
    /// Classes of data that nobody gets to see before somebody has consented.
    #[diesel(deserialize_as = Sql<Value>)]
    pub needed_for: DataClasses,
    /// When it was received.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
}

/// Adds the next version. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    (own_age, needed_for): (i32, DataClasses),
) -> Result<ConsentSettings, StoreError> {
    let last = history(conn, tenant)?.last().map_or(0, |last| last.version);
    let seq = moment.next_seq();
    each_backend!(conn, |c| diesel::insert_into(consent_settings::table)
        .values((
            consent_settings::club_id.eq(tenant.club_id()),
            consent_settings::version.eq(last + 1),
            consent_settings::own_age.eq(own_age),
            consent_settings::needed_for.eq(Sql::<Value>::from(needed_for.clone())),
            consent_settings::received_at.eq(Sql(moment.at())),
            consent_settings::seq.eq(seq),
            consent_settings::author.eq(author.subject),
            consent_settings::acting_role.eq(author.acting_role),
        ))
        .returning(ConsentSettings::as_returning())
        .get_result(c))
}

/// Every version, the first one first.
///
/// # Errors
/// Those of the database.
pub fn history(conn: &mut Conn, tenant: Tenant) -> Result<Vec<ConsentSettings>, StoreError> {
    each_backend!(conn, |c| consent_settings::table
        .filter(consent_settings::club_id.eq(tenant.club_id()))
        .order(consent_settings::version)
        .select(ConsentSettings::as_select())
        .load(c))
}
