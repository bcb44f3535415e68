//! Programmes, each version as one document.

use jiff::Timestamp;
use serde_json::Value;

use super::schema::programmes;
use super::versioned::prelude::*;
use crate::ids::ProgrammeId;

/// A programme.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = programmes)]
pub struct StoredProgramme {
    /// Its id.
    pub programme_id: ProgrammeId,
    /// What it is called.
    pub name: String,
    /// How many weeks it has.
    pub weeks: i32,
    /// All that is in it.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub content: Value,
}

/// A programme in its current version, without what is in it.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = programmes)]
pub struct ProgrammeRow {
    /// Its id.
    pub programme_id: ProgrammeId,
    /// What it is called.
    pub name: String,
    /// How many weeks it has.
    pub weeks: i32,
    /// Which version it is.
    pub version: i32,
    /// When that was received.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
}

versioned!(programmes, programme_id: ProgrammeId, StoredProgramme, pub fn insert);

/// A page of the current, undeleted programmes by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<ProgrammeId>,
    limit: i64,
) -> Result<Vec<ProgrammeRow>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let mut query = programmes::table
            .filter(programmes::club_id.eq(tenant.club_id()))
            .filter(programmes::superseded_at.is_null())
            .filter(not(programmes::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(programmes::programme_id.gt(after));
        }
        query
            .order(programmes::programme_id)
            .limit(limit)
            .select(ProgrammeRow::as_select())
            .load(c)
    })?)
}

/// A programme as it stood in a state of knowledge; none that was removed by then.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    id: ProgrammeId,
    state: Known,
) -> Result<Option<Versioned<StoredProgramme>>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let query = programmes::table
            .filter(programmes::club_id.eq(tenant.club_id()))
            .filter(programmes::programme_id.eq(id))
            .filter(not(programmes::deleted))
            .into_boxed();
        known!(programmes, query, state)
            .select((StoredProgramme::as_select(), version_columns!(programmes)))
            .first(c)
            .optional()
    })?)
}

/// How many programmes the club has, removed ones aside.
///
/// # Errors
/// Those of the database.
pub fn count(conn: &mut Conn, tenant: Tenant) -> Result<i64, StoreError> {
    Ok(each_backend!(conn, |c| programmes::table
        .filter(programmes::club_id.eq(tenant.club_id()))
        .filter(programmes::superseded_at.is_null())
        .filter(not(programmes::deleted))
        .count()
        .get_result(c))?)
}

/// Programmes in these versions, by id and version; absent ones are left out.
///
/// # Errors
/// Those of the database.
pub fn in_versions(
    conn: &mut Conn,
    tenant: Tenant,
    asked: &[(ProgrammeId, i32)],
) -> Result<Vec<Versioned<StoredProgramme>>, StoreError> {
    let mut found: Vec<Versioned<StoredProgramme>> = Vec::new();
    for chunk in sorted_chunks(asked) {
        let (ids, versions): (Vec<ProgrammeId>, Vec<i32>) = chunk.iter().copied().unzip();
        let rows: Vec<Versioned<StoredProgramme>> = each_backend!(conn, |c| programmes::table
            .filter(programmes::club_id.eq(tenant.club_id()))
            .filter(programmes::programme_id.eq_any(&ids))
            .filter(programmes::version.eq_any(&versions))
            .order((programmes::programme_id, programmes::version))
            .select((StoredProgramme::as_select(), version_columns!(programmes)))
            .load(c))?;
        let meant = |row: &Versioned<StoredProgramme>| {
            chunk.contains(&(row.content.programme_id, row.version.number))
        };
        found.extend(rows.into_iter().filter(meant));
    }
    Ok(found)
}
