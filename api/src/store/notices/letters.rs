//! Letters: what a recipient is told of a week, each edition once.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;

use crate::ids::{DeliveryId, NoticeEndpointId};
use crate::store::backend::{batches, each_backend};
use crate::store::codes::{AttemptOutcome, Channel, DeliveryState, NoticeKind};
use crate::store::schema::{deliveries, delivery_attempts, letters, notice_endpoints, notices};
use crate::store::types::Sql;
use crate::store::{Conn, StoreError, Tenant};

/// A letter as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = letters)]
pub struct Letter {
    /// The recipient.
    pub endpoint_id: NoticeEndpointId,
    /// The Monday of the week it tells of.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub monday: Date,
    /// -1 for the look-ahead, 0 for the close, 1, 2, … for corrections after it.
    pub edition: i32,
    /// How it is delivered.
    pub delivery_id: DeliveryId,
}

/// Adds letters whose deliveries are there.
///
/// # Errors
/// `Conflict` when the recipient has that edition of that week, and then nothing of the transaction stands.
pub fn insert(conn: &mut Conn, tenant: Tenant, letters: Vec<Letter>) -> Result<(), StoreError> {
    let rows = letters.into_iter();
    for batch in batches(rows.map(|letter| (letters::club_id.eq(tenant.club_id()), letter))) {
        each_backend!(conn, |c| diesel::insert_into(letters::table)
            .values(batch)
            .execute(c))?;
    }
    Ok(())
}

/// The last edition of a week for a recipient.
///
/// # Errors
/// Those of the database.
pub fn last(
    conn: &mut Conn,
    tenant: Tenant,
    recipient: NoticeEndpointId,
    monday: Date,
) -> Result<Option<Letter>, StoreError> {
    each_backend!(conn, |c| letters::table
        .filter(letters::club_id.eq(tenant.club_id()))
        .filter(letters::endpoint_id.eq(recipient))
        .filter(letters::monday.eq(Sql(monday)))
        .order(letters::edition.desc())
        .select(Letter::as_select())
        .first(c)
        .optional())
}

/// Gives a letter that nobody has begun to send another body; `false` when somebody has, and then
/// nothing changes.
///
/// # Errors
/// Those of the database.
pub fn rewrite_unsent(
    conn: &mut Conn,
    tenant: Tenant,
    id: DeliveryId,
    body: &str,
) -> Result<bool, StoreError> {
    // Put on its way once more, a letter has no attempts in its timetable, but it has been sent.
    let attempts: i64 = each_backend!(conn, |c| delivery_attempts::table
        .filter(delivery_attempts::club_id.eq(tenant.club_id()))
        .filter(delivery_attempts::delivery_id.eq(id))
        .count()
        .get_result(c))?;
    if attempts > 0 {
        return Ok(false);
    }
    // The condition holds against a worker that takes it at this moment: a lease that ran out may have been sent under.
    let rewritten = each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::delivery_id.eq(id))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::attempts.eq(0))
        .filter(deliveries::lease_owner.is_null())
        .set(deliveries::body.eq(body))
        .execute(c))?;
    Ok(rewritten == 1)
}

/// Whether a letter that tells of such a notice is on its way to a recipient, and nobody has begun to send it.
///
/// # Errors
/// Those of the database.
pub fn waits(
    conn: &mut Conn,
    tenant: Tenant,
    recipient: NoticeEndpointId,
    kind: NoticeKind,
) -> Result<bool, StoreError> {
    let waiting: i64 = each_backend!(conn, |c| deliveries::table
        .inner_join(
            notices::table.on(notices::club_id
                .eq(deliveries::club_id)
                .and(notices::notice_id.eq(deliveries::notice_id)))
        )
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(recipient))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::lease_owner.is_null())
        .filter(notices::kind.eq(Sql(kind)))
        .count()
        .get_result(c))?;
    Ok(waiting > 0)
}

/// How many mails of the club have left since an instant: those taken, those that may have been, and those
/// that are leaving now.
///
/// # Errors
/// Those of the database.
pub fn left_since(
    conn: &mut Conn,
    tenant: Tenant,
    since: Timestamp,
    now: Timestamp,
) -> Result<i64, StoreError> {
    let left: i64 = each_backend!(conn, |c| delivery_attempts::table
        .inner_join(
            deliveries::table.on(deliveries::club_id
                .eq(delivery_attempts::club_id)
                .and(deliveries::delivery_id.eq(delivery_attempts::delivery_id)))
        )
        .inner_join(
            notice_endpoints::table.on(notice_endpoints::club_id
                .eq(deliveries::club_id)
                .and(notice_endpoints::endpoint_id.eq(deliveries::endpoint_id)))
        )
        .filter(delivery_attempts::club_id.eq(tenant.club_id()))
        .filter(delivery_attempts::at.gt(Sql(since)))
        .filter(
            delivery_attempts::outcome
                .eq(Sql(AttemptOutcome::Accepted))
                .or(delivery_attempts::outcome.eq(Sql(AttemptOutcome::Unknown)))
        )
        .filter(notice_endpoints::channel.eq(Sql(Channel::Email)))
        .count()
        .get_result(c))?;
    let leaving: i64 = each_backend!(conn, |c| deliveries::table
        .inner_join(
            notice_endpoints::table.on(notice_endpoints::club_id
                .eq(deliveries::club_id)
                .and(notice_endpoints::endpoint_id.eq(deliveries::endpoint_id)))
        )
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::lease_until.gt(Sql(Some(now))))
        .filter(notice_endpoints::channel.eq(Sql(Channel::Email)))
        .count()
        .get_result(c))?;
    Ok(left + leaving)
}
