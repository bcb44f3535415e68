//! How long a club keeps what, and what it calls its records: versions that are added and never changed, so that it can be told what
//! was due on which night.

use diesel::prelude::*;
use jiff::Timestamp;
use plimsoll_domain::RecordRegime;
use plimsoll_domain::retention::Terms;
use serde_json::Value;

use crate::store::backend::each_backend;
use crate::store::schema::retention_settings;
use crate::store::types::Sql;
use crate::store::{Author, Conn, Moment, StoreError, Tenant};

/// What a club says.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = retention_settings, treat_none_as_default_value = false)]
pub struct RetentionSettings {
    /// What it calls its records.
    #[diesel(serialize_as = Sql<RecordRegime>, deserialize_as = Sql<RecordRegime>)]
    pub record_regime: RecordRegime,
    /// How long it keeps what.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub terms: Terms,
    /// Where the terms come from.
    pub source_note: Option<String>,
}

/// A version of it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct SettingsVersion {
    /// What was said.
    pub content: RetentionSettings,
    /// 1, 2, 3, …
    pub version: i32,
    /// When it was received.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
}

/// Adds the next version, and says which it is. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    content: &RetentionSettings,
) -> Result<i32, StoreError> {
    let last = history(conn, tenant)?.last().map_or(0, |last| last.version);
    let seq = moment.next_seq();
    each_backend!(conn, |c| diesel::insert_into(retention_settings::table)
        .values((
            content.clone(),
            retention_settings::club_id.eq(tenant.club_id()),
            retention_settings::version.eq(last + 1),
            retention_settings::received_at.eq(Sql(moment.at())),
            retention_settings::seq.eq(seq),
            retention_settings::author.eq(author.subject),
            retention_settings::acting_role.eq(author.acting_role),
        ))
        .execute(c))?;
    Ok(last + 1)
}

/// Every version, the first one first.
///
/// # Errors
/// Those of the database.
pub fn history(conn: &mut Conn, tenant: Tenant) -> Result<Vec<SettingsVersion>, StoreError> {
    each_backend!(conn, |c| retention_settings::table
        .filter(retention_settings::club_id.eq(tenant.club_id()))
        .order(retention_settings::version)
        .select((
            RetentionSettings::as_select(),
            retention_settings::version,
            retention_settings::received_at,
        ))
        .load(c))
}
