//! What is due, who has taken it, and what came of it.

use diesel::prelude::*;
use jiff::Timestamp;

use super::deliveries::{Attempt, Delivery};
use crate::ids::{ClubId, DeliveryId, LeaseId, NoticeEndpointId, NoticeId};
use crate::store::backend::each_backend;
use crate::store::codes::{DeliveryState, WaitingFor};
use crate::store::schema::{deliveries, delivery_attempts};
use crate::store::types::Sql;
use crate::store::{Conn, StoreError, Tenant};

/// What is due and taken by nobody.
macro_rules! free_to_take {
    ($now:expr) => {
        deliveries::state
            .eq(Sql(DeliveryState::Pending))
            .and(deliveries::due_at.le(Sql($now)))
            .and(
                deliveries::lease_until
                    .is_null()
                    .or(deliveries::lease_until.le(Sql($now))),
            )
    };
}

/// The endpoints of any club for which something is due and free to take: for the worker, and so
/// without a tenant.
///
/// # Errors
/// Those of the database.
pub fn due(
    conn: &mut Conn,
    now: Timestamp,
    limit: i64,
) -> Result<Vec<(ClubId, NoticeEndpointId)>, StoreError> {
    each_backend!(conn, |c| deliveries::table
        .filter(free_to_take!(now))
        .select((deliveries::club_id, deliveries::endpoint_id))
        .distinct()
        .limit(limit)
        .load(c))
}

/// Takes the delivery to an endpoint that has been due the longest; only that of `only`, where one is named.
///
/// # Errors
/// Those of the database.
pub fn claim(
    conn: &mut Conn,
    tenant: Tenant,
    (endpoint, only): (NoticeEndpointId, Option<NoticeId>),
    lease: LeaseId,
    (now, until): (Timestamp, Timestamp),
) -> Result<Option<Delivery>, StoreError> {
    let candidate: Option<DeliveryId> = each_backend!(conn, |c| {
        let mut query = deliveries::table
            .filter(deliveries::club_id.eq(tenant.club_id()))
            .filter(deliveries::endpoint_id.eq(endpoint))
            .filter(free_to_take!(now))
            .into_boxed();
        if let Some(only) = only {
            query = query.filter(deliveries::notice_id.eq(only));
        }
        query
            .order((deliveries::due_at, deliveries::delivery_id))
            .select(deliveries::delivery_id)
            .first(c)
            .optional()
    })?;
    let Some(id) = candidate else {
        return Ok(None);
    };
    // The condition once more: of two that have seen the same candidate, one changes no row.
    let taken = each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::delivery_id.eq(id))
        .filter(free_to_take!(now))
        .set((
            deliveries::lease_owner.eq(Some(lease)),
            deliveries::lease_until.eq(Sql(Some(until))),
            deliveries::waiting_for.eq(Sql(None::<WaitingFor>)),
        ))
        .execute(c))?;
    if taken == 0 {
        return Ok(None);
    }
    super::deliveries::find(conn, tenant, id)
}

/// How a delivery goes on after an attempt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Next {
    /// Its state.
    pub state: DeliveryState,
    /// When the next attempt is due; without meaning when it is over.
    pub due_at: Timestamp,
    /// What it waits for until then, where that is not the other side.
    pub waiting_for: Option<WaitingFor>,
}

/// Records an attempt and gives the lease back; `false` when the lease was lost meanwhile, and then
/// only the attempt is recorded.
///
/// # Errors
/// Those of the database.
pub fn settle(
    conn: &mut Conn,
    tenant: Tenant,
    lease: LeaseId,
    attempt: &Attempt,
    next: Next,
) -> Result<bool, StoreError> {
    let before: i64 = each_backend!(conn, |c| delivery_attempts::table
        .filter(delivery_attempts::club_id.eq(tenant.club_id()))
        .filter(delivery_attempts::delivery_id.eq(attempt.delivery_id))
        .count()
        .get_result(c))?;
    let number = i32::try_from(before).unwrap_or(i32::MAX - 1) + 1;
    let row = Attempt {
        attempt: number,
        ..attempt.clone()
    };
    each_backend!(conn, |c| diesel::insert_into(delivery_attempts::table)
        .values((delivery_attempts::club_id.eq(tenant.club_id()), row))
        .execute(c))?;
    let settled = each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::delivery_id.eq(attempt.delivery_id))
        .filter(deliveries::lease_owner.eq(lease))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .set((
            deliveries::state.eq(Sql(next.state)),
            deliveries::due_at.eq(Sql(next.due_at)),
            deliveries::lease_owner.eq(None::<LeaseId>),
            deliveries::lease_until.eq(Sql(None::<Timestamp>)),
            deliveries::attempts.eq(deliveries::attempts + 1),
            deliveries::last_status.eq(attempt.status),
            deliveries::waiting_for.eq(Sql(next.waiting_for)),
        ))
        .execute(c))?;
    Ok(settled == 1)
}

/// How many deliveries of all clubs are due by `now`, and since when the first of them: for the
/// service's own health, and so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn waiting(conn: &mut Conn, now: Timestamp) -> Result<(i64, Option<Timestamp>), StoreError> {
    let first: Option<Sql<Timestamp>> = each_backend!(conn, |c| deliveries::table
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::due_at.le(Sql(now)))
        .order(deliveries::due_at)
        .select(deliveries::due_at)
        .first(c)
        .optional())?;
    let due = each_backend!(conn, |c| deliveries::table
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::due_at.le(Sql(now)))
        .count()
        .get_result(c))?;
    Ok((due, first.map(Into::into)))
}

/// Puts off what is due for an endpoint and free to take.
///
/// # Errors
/// Those of the database.
pub fn put_off(
    conn: &mut Conn,
    tenant: Tenant,
    endpoint: NoticeEndpointId,
    now: Timestamp,
    (until, waiting_for): (Timestamp, WaitingFor),
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(endpoint))
        .filter(free_to_take!(now))
        .set((
            deliveries::due_at.eq(Sql(until)),
            deliveries::waiting_for.eq(Sql(Some(waiting_for))),
        ))
        .execute(c))?;
    Ok(())
}

/// Keeps what is due for an endpoint that is not confirmed, save its challenge, until `until`. What has waited so long already is
/// given up.
///
/// # Errors
/// Those of the database.
pub fn keep_back(
    conn: &mut Conn,
    tenant: Tenant,
    (endpoint, challenge): (NoticeEndpointId, NoticeId),
    now: Timestamp,
    (until, waiting_for): (Timestamp, WaitingFor),
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(endpoint))
        .filter(deliveries::notice_id.ne(challenge))
        .filter(deliveries::waiting_for.eq(Sql(Some(waiting_for))))
        .filter(free_to_take!(now))
        .set(deliveries::state.eq(Sql(DeliveryState::Failed)))
        .execute(c))?;
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(endpoint))
        .filter(deliveries::notice_id.ne(challenge))
        .filter(free_to_take!(now))
        .set((
            deliveries::due_at.eq(Sql(until)),
            deliveries::waiting_for.eq(Sql(Some(waiting_for))),
        ))
        .execute(c))?;
    Ok(())
}

/// Lets go at once what an endpoint was kept back until it was confirmed.
///
/// # Errors
/// Those of the database.
pub fn let_go(
    conn: &mut Conn,
    tenant: Tenant,
    endpoint: NoticeEndpointId,
    now: Timestamp,
) -> Result<(), StoreError> {
    let kept = deliveries::waiting_for
        .eq(Sql(Some(WaitingFor::Confirmation)))
        .or(deliveries::waiting_for.eq(Sql(Some(WaitingFor::Approval))));
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(endpoint))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(kept)
        .set((
            deliveries::due_at.eq(Sql(now)),
            deliveries::waiting_for.eq(Sql(None::<WaitingFor>)),
        ))
        .execute(c))?;
    Ok(())
}

/// How many pending deliveries of all clubs wait for this: for the service's own health, and so
/// without a tenant.
///
/// # Errors
/// Those of the database.
pub fn waiting_for(conn: &mut Conn, what: WaitingFor) -> Result<i64, StoreError> {
    each_backend!(conn, |c| deliveries::table
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .filter(deliveries::waiting_for.eq(Sql(Some(what))))
        .count()
        .get_result(c))
}
