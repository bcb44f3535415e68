//! Who read what, in which role, and why.

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::{batches, each_backend, insert_rows};
use super::schema::audit_reads;
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::{AthleteId, AuditId};

/// One read.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = audit_reads, treat_none_as_default_value = false)]
pub struct AuditRead {
    /// Its id; ids grow with time, and the list is in their order.
    pub audit_id: AuditId,
    /// When.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub at: Timestamp,
    /// Who: the token's subject.
    pub subject: String,
    /// Through which client.
    pub client: String,
    /// In which role.
    pub acting_role: String,
    /// Why, where it was asked for.
    pub purpose: Option<String>,
    /// Whose data, where it was one athlete's.
    pub athlete_id: Option<AthleteId>,
    /// What was read.
    pub action: String,
    /// What came of it.
    pub outcome: String,
    /// The request, as in the log.
    pub request_id: String,
}

/// Stores reads, in batches.
///
/// # Errors
/// `Conflict` when an id is taken.
pub fn insert_many(conn: &mut Conn, tenant: Tenant, reads: &[AuditRead]) -> Result<(), StoreError> {
    let rows = reads
        .iter()
        .map(|read| (audit_reads::club_id.eq(tenant.club_id()), read.clone()));
    for batch in batches(rows) {
        insert_rows!(conn, batch, |rows| diesel::insert_into(audit_reads::table)
            .values(rows))?;
    }
    Ok(())
}

/// A page of reads in the order of their ids, after the given one; of one athlete when given.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: Option<AthleteId>,
    after: Option<AuditId>,
    limit: i64,
) -> Result<Vec<AuditRead>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = audit_reads::table
            .filter(audit_reads::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(athlete_id) = athlete_id {
            query = query.filter(audit_reads::athlete_id.eq(athlete_id));
        }
        if let Some(after) = after {
            query = query.filter(audit_reads::audit_id.gt(after));
        }
        query
            .order(audit_reads::audit_id)
            .limit(limit)
            .select(AuditRead::as_select())
            .load(c)
    })
}
