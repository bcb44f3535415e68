//! Which consents let a club's day totals go to another club, and up to which of the club's changes they have been copied.

use diesel::prelude::*;

use super::backend::each_backend;
use super::schema::{clubs, shares};
use super::{Conn, StoreError, Tenant};
use crate::ids::{ClubId, ConsentId};

/// Begins to share, or notes up to which of the club's changes the totals have been copied.
///
/// # Errors
/// `Reference` without the club.
pub fn copied(
    conn: &mut Conn,
    tenant: Tenant,
    consent_id: ConsentId,
    copied_seq: i64,
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(shares::table)
        .values((
            shares::club_id.eq(tenant.club_id()),
            shares::consent_id.eq(consent_id),
            shares::copied_seq.eq(copied_seq),
        ))
        .on_conflict((shares::club_id, shares::consent_id))
        .do_update()
        .set(shares::copied_seq.eq(copied_seq))
        .execute(c))?;
    Ok(())
}

/// Shares no longer.
///
/// # Errors
/// Those of the database.
pub fn remove(conn: &mut Conn, tenant: Tenant, consent_id: ConsentId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::delete(shares::table)
        .filter(shares::club_id.eq(tenant.club_id()))
        .filter(shares::consent_id.eq(consent_id))
        .execute(c))?;
    Ok(())
}

/// The consents by which the club shares.
///
/// # Errors
/// Those of the database.
pub fn all(conn: &mut Conn, tenant: Tenant) -> Result<Vec<ConsentId>, StoreError> {
    each_backend!(conn, |c| shares::table
        .filter(shares::club_id.eq(tenant.club_id()))
        .order(shares::consent_id)
        .select(shares::consent_id)
        .load(c))
}

/// The consents of any club that has changed since its totals were copied, for the job: a function without a tenant.
///
/// # Errors
/// Those of the database.
pub fn due(conn: &mut Conn, limit: i64) -> Result<Vec<(ClubId, ConsentId)>, StoreError> {
    each_backend!(conn, |c| shares::table
        .inner_join(clubs::table.on(clubs::club_id.eq(shares::club_id)))
        .filter(clubs::last_seq.gt(shares::copied_seq))
        .order((shares::club_id, shares::consent_id))
        .limit(limit)
        .select((shares::club_id, shares::consent_id))
        .load(c))
}
