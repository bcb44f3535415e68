//! Reads of the audit list that a consent has to stand behind.

use diesel::prelude::*;
use jiff::Timestamp;

use super::audit::AuditRead;
use super::backend::each_backend;
use super::schema::audit_reads;
use super::types::Sql;
use super::{Conn, StoreError, Tenant};
use crate::ids::AuditId;

/// Reads by these actions in the order of their ids, after the given one, that took place at `since` or later. Ids begin with
/// the time they were made.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    actions: &[&str],
    (since, after): (Timestamp, AuditId),
    limit: i64,
) -> Result<Vec<AuditRead>, StoreError> {
    each_backend!(conn, |c| audit_reads::table
        .filter(audit_reads::club_id.eq(tenant.club_id()))
        .filter(audit_reads::audit_id.gt(after))
        .filter(audit_reads::at.ge(Sql(since)))
        .filter(audit_reads::action.eq_any(actions))
        .filter(audit_reads::outcome.eq("read"))
        .filter(audit_reads::athlete_id.is_not_null())
        .order(audit_reads::audit_id)
        .limit(limit)
        .select(AuditRead::as_select())
        .load(c))
}
