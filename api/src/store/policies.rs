//! A club's policies: versions that are added and never changed.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::Value;

use super::backend::each_backend;
use super::schema::policies;
use super::types::Sql;
use super::{Author, Conn, Known, Moment, StoreError, Tenant};

/// A policy as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = policies)]
pub struct Policy {
    /// 1, 2, 3, …
    pub version: i32,
    /// The first day it holds.
    #[diesel(deserialize_as = Sql<Date>)]
    pub effective_from: Date,
    /// Who approved it.
    pub approved_by: String,
    /// Where its limits come from.
    pub source_note: String,
    /// The rules and settings, as given.
    #[diesel(deserialize_as = Sql<Value>)]
    pub body: Value,
    /// When it was received.
    #[diesel(deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
    /// Its place in the club's sequence.
    pub seq: i64,
    /// Who sent it, or who changed it last while it was a draft.
    pub author: String,
    /// The second person who approved it, where it was a draft before.
    pub approver: Option<String>,
}

/// A policy to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPolicy {
    /// The first day it holds.
    pub effective_from: Date,
    /// Who approved it.
    pub approved_by: String,
    /// Where its limits come from.
    pub source_note: String,
    /// The rules and settings.
    pub body: Value,
    /// The second person who approved it, where it was a draft before.
    pub approver: Option<String>,
}

/// Adds the next version.
///
/// # Errors
/// `Reference` without the club.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    policy: &NewPolicy,
) -> Result<Policy, StoreError> {
    let last = latest(conn, tenant)?.map_or(0, |policy| policy.version);
    let seq = moment.next_seq();
    each_backend!(conn, |c| diesel::insert_into(policies::table)
        .values((
            policies::club_id.eq(tenant.club_id()),
            policies::version.eq(last + 1),
            policies::effective_from.eq(Sql(policy.effective_from)),
            policies::approved_by.eq(&policy.approved_by),
            policies::source_note.eq(&policy.source_note),
            policies::body.eq(Sql(policy.body.clone())),
            policies::received_at.eq(Sql(moment.at())),
            policies::seq.eq(seq),
            policies::author.eq(author.subject),
            policies::approver.eq(&policy.approver),
        ))
        .returning(Policy::as_returning())
        .get_result(c))
}

/// The version added last, whether or not it holds already.
///
/// # Errors
/// Those of the database.
pub fn latest(conn: &mut Conn, tenant: Tenant) -> Result<Option<Policy>, StoreError> {
    each_backend!(conn, |c| policies::table
        .filter(policies::club_id.eq(tenant.club_id()))
        .order(policies::version.desc())
        .select(Policy::as_select())
        .first(c)
        .optional())
}

/// One version.
///
/// # Errors
/// Those of the database.
pub fn find(conn: &mut Conn, tenant: Tenant, version: i32) -> Result<Option<Policy>, StoreError> {
    each_backend!(conn, |c| policies::table
        .filter(policies::club_id.eq(tenant.club_id()))
        .filter(policies::version.eq(version))
        .select(Policy::as_select())
        .first(c)
        .optional())
}

/// Every version of a state of knowledge, the first one first.
///
/// # Errors
/// Those of the database.
pub fn history(conn: &mut Conn, tenant: Tenant, state: Known) -> Result<Vec<Policy>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = policies::table
            .filter(policies::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Known::AsOf(instant) = state {
            query = query.filter(policies::received_at.le(Sql(instant)));
        }
        query
            .order(policies::version)
            .select(Policy::as_select())
            .load(c)
    })
}

/// The policy that holds on a day: of those effective by then the one that became so last, and of
/// several from the same day the newest.
///
/// # Errors
/// Those of the database.
pub fn in_force(
    conn: &mut Conn,
    tenant: Tenant,
    on: Date,
    state: Known,
) -> Result<Option<Policy>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = policies::table
            .filter(policies::club_id.eq(tenant.club_id()))
            .filter(policies::effective_from.le(Sql(on)))
            .into_boxed();
        if let Known::AsOf(instant) = state {
            query = query.filter(policies::received_at.le(Sql(instant)));
        }
        query
            .order((policies::effective_from.desc(), policies::version.desc()))
            .select(Policy::as_select())
            .first(c)
            .optional()
    })
}
