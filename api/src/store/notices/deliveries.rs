//! Notices, their deliveries and the attempts made: written once, listed afterwards.

use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::Value;

use crate::ids::{DeliveryId, NoticeEndpointId, NoticeId};
use crate::store::backend::{batches, each_backend};
use crate::store::codes::{AttemptOutcome, DeliveryState, NoticeKind, WaitingFor};
use crate::store::schema::{deliveries, delivery_attempts, notices};
use crate::store::types::Sql;
use crate::store::{Conn, StoreError, Tenant};

/// A notice as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = notices)]
pub struct StoredNotice {
    /// Its id, which every message about it carries.
    pub notice_id: NoticeId,
    /// What it tells.
    #[diesel(serialize_as = Sql<NoticeKind>, deserialize_as = Sql<NoticeKind>)]
    pub kind: NoticeKind,
    /// The Monday of its week.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub monday: Date,
    /// When it became true.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
    /// What messages about it are made from.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub payload: Value,
}

/// A delivery as stored.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = deliveries, treat_none_as_default_value = false)]
pub struct Delivery {
    /// Its id.
    pub delivery_id: DeliveryId,
    /// What is delivered.
    pub notice_id: NoticeId,
    /// Where to.
    pub endpoint_id: NoticeEndpointId,
    /// The message's body, the same bytes on every attempt.
    pub body: String,
    /// How it stands.
    #[diesel(serialize_as = Sql<DeliveryState>, deserialize_as = Sql<DeliveryState>)]
    pub state: DeliveryState,
    /// When the next attempt is due.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub due_at: Timestamp,
    /// Attempts made since it was last put on its way.
    pub attempts: i32,
    /// The last status answered.
    pub last_status: Option<i32>,
    /// When it was made.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub created_at: Timestamp,
    /// What it waits for while it is pending, where that is not the other side.
    #[diesel(serialize_as = Sql<Option<WaitingFor>>, deserialize_as = Sql<Option<WaitingFor>>)]
    pub waiting_for: Option<WaitingFor>,
}

/// When a delivery's timetable begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Start {
    /// When the first attempt is due.
    pub due_at: Timestamp,
    /// What it waits for until then.
    pub waiting_for: Option<WaitingFor>,
}

impl Start {
    /// As soon as this.
    pub fn at(due_at: Timestamp) -> Self {
        Self {
            due_at,
            waiting_for: None,
        }
    }
}

/// One attempt. Nothing of what the other side said but its status and the number of bytes read.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = delivery_attempts, treat_none_as_default_value = false)]
pub struct Attempt {
    /// Of which delivery.
    pub delivery_id: DeliveryId,
    /// 1, 2, 3, …
    pub attempt: i32,
    /// When it ended.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub at: Timestamp,
    /// What it came to.
    #[diesel(serialize_as = Sql<AttemptOutcome>, deserialize_as = Sql<AttemptOutcome>)]
    pub outcome: AttemptOutcome,
    /// The status answered.
    pub status: Option<i32>,
    /// How many bytes of the answer were read and thrown away.
    pub answer_bytes: Option<i32>,
}

/// Adds notices with their deliveries, in batches.
///
/// # Errors
/// `Reference` without the club or an endpoint.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    notices: Vec<StoredNotice>,
    due: Vec<Delivery>,
) -> Result<(), StoreError> {
    let rows = notices.into_iter();
    for batch in batches(rows.map(|notice| (notices::club_id.eq(tenant.club_id()), notice))) {
        each_backend!(conn, |c| diesel::insert_into(notices::table)
            .values(batch)
            .execute(c))?;
    }
    let rows = due.into_iter();
    for batch in batches(rows.map(|one| (deliveries::club_id.eq(tenant.club_id()), one))) {
        each_backend!(conn, |c| diesel::insert_into(deliveries::table)
            .values(batch)
            .execute(c))?;
    }
    Ok(())
}

/// A page of notices, the newest first.
///
/// # Errors
/// Those of the database.
pub fn notices_page(
    conn: &mut Conn,
    tenant: Tenant,
    before: Option<NoticeId>,
    limit: i64,
) -> Result<Vec<StoredNotice>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = notices::table
            .filter(notices::club_id.eq(tenant.club_id()))
            .into_boxed();
        if let Some(before) = before {
            query = query.filter(notices::notice_id.lt(before));
        }
        query
            .order(notices::notice_id.desc())
            .limit(limit)
            .select(StoredNotice::as_select())
            .load(c)
    })
}

/// A notice.
///
/// # Errors
/// Those of the database.
pub fn find_notice(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeId,
) -> Result<Option<StoredNotice>, StoreError> {
    each_backend!(conn, |c| notices::table
        .filter(notices::club_id.eq(tenant.club_id()))
        .filter(notices::notice_id.eq(id))
        .select(StoredNotice::as_select())
        .first(c)
        .optional())
}

/// The deliveries of a notice, by id.
///
/// # Errors
/// Those of the database.
pub fn of_notice(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeId,
) -> Result<Vec<Delivery>, StoreError> {
    each_backend!(conn, |c| deliveries::table
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::notice_id.eq(id))
        .order(deliveries::delivery_id)
        .select(Delivery::as_select())
        .load(c))
}

/// The attempts made for the deliveries of a notice, by delivery and number.
///
/// # Errors
/// Those of the database.
pub fn attempts_of_notice(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeId,
) -> Result<Vec<Attempt>, StoreError> {
    each_backend!(conn, |c| delivery_attempts::table
        .inner_join(
            deliveries::table.on(deliveries::club_id
                .eq(delivery_attempts::club_id)
                .and(deliveries::delivery_id.eq(delivery_attempts::delivery_id)))
        )
        .filter(delivery_attempts::club_id.eq(tenant.club_id()))
        .filter(deliveries::notice_id.eq(id))
        .order((delivery_attempts::delivery_id, delivery_attempts::attempt))
        .select(Attempt::as_select())
        .load(c))
}

/// Ends the pending deliveries of a notice, which is told no more.
///
/// # Errors
/// Those of the database.
pub fn end(conn: &mut Conn, tenant: Tenant, id: NoticeId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::notice_id.eq(id))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .set(deliveries::state.eq(Sql(DeliveryState::Disabled)))
        .execute(c))?;
    Ok(())
}

/// A delivery.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: DeliveryId,
) -> Result<Option<Delivery>, StoreError> {
    each_backend!(conn, |c| deliveries::table
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::delivery_id.eq(id))
        .select(Delivery::as_select())
        .first(c)
        .optional())
}

/// Puts a delivery on its way again, with the same id and body and a new timetable.
///
/// # Errors
/// Those of the database.
pub fn redeliver(
    conn: &mut Conn,
    tenant: Tenant,
    id: DeliveryId,
    start: Start,
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::delivery_id.eq(id))
        .set((
            deliveries::state.eq(Sql(DeliveryState::Pending)),
            deliveries::due_at.eq(Sql(start.due_at)),
            deliveries::waiting_for.eq(Sql(start.waiting_for)),
            deliveries::attempts.eq(0),
        ))
        .execute(c))?;
    Ok(())
}

/// Puts every delivery to an endpoint that was made in `from..=to` on its way again, as
/// [`redeliver`] does one, and counts them. What asked it for an echo stays as it is.
///
/// # Errors
/// Those of the database.
pub fn redeliver_made(
    conn: &mut Conn,
    tenant: Tenant,
    endpoint: NoticeEndpointId,
    (from, to): (Timestamp, Timestamp),
    start: Start,
) -> Result<usize, StoreError> {
    let challenges = notices::table
        .filter(notices::club_id.eq(tenant.club_id()))
        .filter(notices::kind.eq(Sql(NoticeKind::Challenge)))
        .select(notices::notice_id);
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(endpoint))
        .filter(deliveries::created_at.between(Sql(from), Sql(to)))
        .filter(deliveries::notice_id.ne_all(challenges))
        .set((
            deliveries::state.eq(Sql(DeliveryState::Pending)),
            deliveries::due_at.eq(Sql(start.due_at)),
            deliveries::waiting_for.eq(Sql(start.waiting_for)),
            deliveries::attempts.eq(0),
        ))
        .execute(c))
}
