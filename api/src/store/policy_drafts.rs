//! Policies that nobody has approved yet. An approved draft becomes a version and is no draft any more.

use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::policy_drafts;
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::PolicyDraftId;

/// A draft as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = policy_drafts)]
pub struct PolicyDraft {
    /// Its id.
    pub draft_id: PolicyDraftId,
    /// The rules and settings, as given.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub body: Value,
    /// Who wrote it first.
    pub written_by: String,
    /// When.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub written_at: Timestamp,
    /// Who changed it last.
    pub changed_by: String,
    /// When.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub changed_at: Timestamp,
    /// 1, 2, 3, …, for If-Match.
    pub version: i32,
}

/// Adds a draft.
///
/// # Errors
/// `Conflict` when the id is taken, `Reference` without the club.
pub fn insert(conn: &mut Conn, tenant: Tenant, draft: &PolicyDraft) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(policy_drafts::table)
        .values((policy_drafts::club_id.eq(tenant.club_id()), draft.clone()))
        .execute(c))?;
    Ok(())
}

/// Stores a draft as it now is. To be called while the club is locked.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn save(conn: &mut Conn, tenant: Tenant, draft: &PolicyDraft) -> Result<(), StoreError> {
    let saved = each_backend!(conn, |c| diesel::update(policy_drafts::table)
        .filter(policy_drafts::club_id.eq(tenant.club_id()))
        .filter(policy_drafts::draft_id.eq(draft.draft_id))
        .set(draft.clone())
        .execute(c))?;
    found(saved)
}

/// Takes a draft away: nothing was ever computed by it.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn remove(conn: &mut Conn, tenant: Tenant, id: PolicyDraftId) -> Result<(), StoreError> {
    let removed = each_backend!(conn, |c| diesel::delete(policy_drafts::table)
        .filter(policy_drafts::club_id.eq(tenant.club_id()))
        .filter(policy_drafts::draft_id.eq(id))
        .execute(c))?;
    found(removed)
}

fn found(rows: usize) -> Result<(), StoreError> {
    if rows == 1 {
        Ok(())
    } else {
        Err(StoreError::NotFound)
    }
}

/// A draft.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: PolicyDraftId,
) -> Result<Option<PolicyDraft>, StoreError> {
    each_backend!(conn, |c| policy_drafts::table
        .filter(policy_drafts::club_id.eq(tenant.club_id()))
        .filter(policy_drafts::draft_id.eq(id))
        .select(PolicyDraft::as_select())
        .first(c)
        .optional())
}

/// A page of drafts by id.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<PolicyDraftId>,
    limit: i64,
) -> Result<Vec<PolicyDraft>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = policy_drafts::table
            .filter(policy_drafts::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(policy_drafts::draft_id.gt(after));
        }
        query
            .order(policy_drafts::draft_id)
            .limit(limit)
            .select(PolicyDraft::as_select())
            .load(c)
    })
}
