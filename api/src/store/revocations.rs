//! Tokens and subjects that are no longer accepted.

use diesel::prelude::*;
use jiff::Timestamp;

use super::backend::each_backend;
use super::codes::RevocationKind;
use super::schema::revocations;
use super::types::Sql;
use super::{Author, Conn, Moment, StoreError, Tenant};
use crate::ids::{ClubId, RevocationId};

/// A revocation as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = revocations, treat_none_as_default_value = false)]
pub struct Revocation {
    /// Its id.
    pub revocation_id: RevocationId,
    /// What is revoked.
    #[diesel(serialize_as = Sql<RevocationKind>, deserialize_as = Sql<RevocationKind>)]
    pub kind: RevocationKind,
    /// The token's id or the subject.
    pub value: String,
    /// Why.
    pub reason: String,
    /// Who did it.
    pub revoked_by: String,
    /// In which role.
    pub acting_role: String,
    /// Since when.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub received_at: Timestamp,
    /// Its place in the club's sequence.
    pub seq: i64,
    /// When it was lifted.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub lifted_at: Option<Timestamp>,
}

/// A revocation to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewRevocation {
    /// Its id.
    pub revocation_id: RevocationId,
    /// What is revoked.
    pub kind: RevocationKind,
    /// The token's id or the subject.
    pub value: String,
    /// Why.
    pub reason: String,
}

/// Adds a revocation.
///
/// # Errors
/// `Reference` without the club.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    new: NewRevocation,
) -> Result<Revocation, StoreError> {
    let row = Revocation {
        revocation_id: new.revocation_id,
        kind: new.kind,
        value: new.value,
        reason: new.reason,
        revoked_by: author.subject.to_owned(),
        acting_role: author.acting_role.to_owned(),
        received_at: moment.at(),
        seq: moment.next_seq(),
        lifted_at: None,
    };
    each_backend!(conn, |c| diesel::insert_into(revocations::table)
        .values((revocations::club_id.eq(tenant.club_id()), row.clone()))
        .execute(c))?;
    Ok(row)
}

/// Lifts a revocation; `false` when there is none in force under this id.
///
/// # Errors
/// Those of the database.
pub fn lift(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &Moment,
    revocation_id: RevocationId,
) -> Result<bool, StoreError> {
    let lifted = each_backend!(conn, |c| diesel::update(revocations::table)
        .filter(revocations::club_id.eq(tenant.club_id()))
        .filter(revocations::revocation_id.eq(revocation_id))
        .filter(revocations::lifted_at.is_null())
        .set(revocations::lifted_at.eq(Sql(Some(moment.at()))))
        .execute(c))?;
    Ok(lifted == 1)
}

/// A page of the club's revocations, lifted ones included, by id.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<RevocationId>,
    limit: i64,
) -> Result<Vec<Revocation>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = revocations::table
            .filter(revocations::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(revocations::revocation_id.gt(after));
        }
        query
            .order(revocations::revocation_id)
            .limit(limit)
            .select(Revocation::as_select())
            .load(c)
    })
}

/// Everything in force in any club, for the check of every request: without a tenant, because it is
/// asked before a tenant is granted.
///
/// # Errors
/// Those of the database.
pub fn in_force(conn: &mut Conn) -> Result<Vec<(ClubId, RevocationKind, String)>, StoreError> {
    let rows: Vec<(ClubId, Sql<RevocationKind>, String)> =
        each_backend!(conn, |c| revocations::table
            .filter(revocations::lifted_at.is_null())
            .select((revocations::club_id, revocations::kind, revocations::value))
            .load(c))?;
    Ok(rows
        .into_iter()
        .map(|(club, kind, value)| (club, kind.0, value))
        .collect())
}
