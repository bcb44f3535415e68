//! Where notices go.

use diesel::dsl::not;
use diesel::prelude::*;
use jiff::Timestamp;
use serde_json::Value;

use crate::ids::{NoticeEndpointId, NoticeId, SquadId};
use crate::store::backend::each_backend;
use crate::store::codes::{Channel, DeliveryState, WaitingFor};
use crate::store::schema::{deliveries, notice_endpoints};
use crate::store::seal::{Kept, Private, for_sealing, opened, sealed_row};
use crate::store::types::{Sealed, Sql};
use crate::store::{Conn, StoreError, Tenant};

sealed_row! {
    /// An endpoint as stored.
    #[derive(Clone, PartialEq, Eq)]
    pub struct Endpoint {
        /// Its id.
        pub endpoint_id: NoticeEndpointId,
        /// How notices reach it.
        pub channel: Channel as Sql<Channel>,
        /// The squads it wants to hear of; all when empty.
        pub squads: Vec<SquadId> as Sql<Value>,
        /// Until when the old secret signs too.
        pub old_secret_until: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Since when no attempt has succeeded.
        pub failing_since: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Since when nothing is sent to it.
        pub disabled_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Why.
        pub disabled_why: Option<String>,
        /// 1, 2, 3, …; it grows with what somebody sets, not with what sending brings.
        pub version: i32,
        /// When it was made.
        pub created_at: Timestamp as Sql<Timestamp>,
        /// Since when notices go to it.
        pub confirmed_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// The notice that asks a webhook for its echo.
        pub challenge_id: Option<NoticeId>,
        /// The subject that entered a recipient's address.
        pub entered_by: Option<String>,
        /// Whether it is told that questions were asked.
        pub questions: bool,
    }
    sealed {
        /// Its URL, or the recipient's address.
        pub address: Private<String>,
        /// What its messages are signed with.
        pub secret: Option<Private<Vec<u8>>>,
        /// The secret before the last rotation.
        pub old_secret: Option<Private<Vec<u8>>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable, AsChangeset)]
    #[diesel(table_name = notice_endpoints, treat_none_as_default_value = false, treat_none_as_null = true)]
    struct Row in notice_endpoints by endpoint_id
}

impl std::fmt::Debug for Endpoint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Neither secrets nor addresses belong in a log.
        f.debug_struct("Endpoint")
            .field("endpoint_id", &self.endpoint_id)
            .field("version", &self.version)
            .finish_non_exhaustive()
    }
}

impl Endpoint {
    /// What has to come before notices go to it.
    pub fn waiting_for(&self) -> Option<WaitingFor> {
        let what = match self.channel {
            Channel::Webhook => WaitingFor::Confirmation,
            Channel::Email => WaitingFor::Approval,
        };
        self.confirmed_at.is_none().then_some(what)
    }

    /// Whether it has to echo this notice to be confirmed.
    pub fn is_asked_by(&self, notice: NoticeId) -> bool {
        self.confirmed_at.is_none() && self.challenge_id == Some(notice)
    }

    /// Whether a notice about these squads is for it; a notice about none is for everybody.
    pub fn wants(&self, squads: &[SquadId]) -> bool {
        self.squads.is_empty()
            || squads.is_empty()
            || squads.iter().any(|squad| self.squads.contains(squad))
    }
}

/// Adds an endpoint.
///
/// # Errors
/// `Reference` without the club.
pub fn insert(conn: &mut Conn, tenant: Tenant, endpoint: &Endpoint) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, endpoint)?;
    each_backend!(conn, |c| diesel::insert_into(notice_endpoints::table)
        .values((
            notice_endpoints::club_id.eq(tenant.club_id()),
            notice_endpoints::deleted.eq(false),
            row
        ))
        .execute(c))?;
    Ok(())
}

fn sealed(conn: &mut Conn, tenant: Tenant, endpoint: &Endpoint) -> Result<Row, StoreError> {
    let keys = for_sealing::<Row>(conn, tenant, [endpoint].into_iter())?;
    Row::seal(endpoint, &keys)
}

/// Stores an endpoint as it now is.
///
/// # Errors
/// `NotFound` when it is not there.
pub fn save(conn: &mut Conn, tenant: Tenant, endpoint: &Endpoint) -> Result<(), StoreError> {
    let row = sealed(conn, tenant, endpoint)?;
    let saved = each_backend!(conn, |c| diesel::update(notice_endpoints::table)
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(notice_endpoints::endpoint_id.eq(endpoint.endpoint_id))
        .filter(not(notice_endpoints::deleted))
        .set(row)
        .execute(c))?;
    if saved == 1 {
        Ok(())
    } else {
        Err(StoreError::NotFound)
    }
}

/// Takes an endpoint away: its address and secrets are forgotten, its deliveries stay listed.
///
/// # Errors
/// Those of the database.
pub fn delete(conn: &mut Conn, tenant: Tenant, id: NoticeEndpointId) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(notice_endpoints::table)
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(notice_endpoints::endpoint_id.eq(id))
        .set((
            notice_endpoints::deleted.eq(true),
            notice_endpoints::address.eq(Sealed::nothing()),
            notice_endpoints::secret.eq(None::<Sealed>),
            notice_endpoints::old_secret.eq(None::<Sealed>),
        ))
        .execute(c))?;
    drop_pending(conn, tenant, id)
}

/// Ends the pending deliveries of an endpoint that takes no more.
///
/// # Errors
/// Those of the database.
pub fn drop_pending(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeEndpointId,
) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::update(deliveries::table)
        .filter(deliveries::club_id.eq(tenant.club_id()))
        .filter(deliveries::endpoint_id.eq(id))
        .filter(deliveries::state.eq(Sql(DeliveryState::Pending)))
        .set(deliveries::state.eq(Sql(DeliveryState::Disabled)))
        .execute(c))?;
    Ok(())
}

/// An endpoint.
///
/// # Errors
/// Those of the database.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeEndpointId,
) -> Result<Option<Endpoint>, StoreError> {
    let found = each_backend!(conn, |c| notice_endpoints::table
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(notice_endpoints::endpoint_id.eq(id))
        .filter(not(notice_endpoints::deleted))
        .select(Row::as_select())
        .load(c))?;
    Ok(opened(conn, tenant, found)?.pop())
}

/// A page of endpoints by id.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<NoticeEndpointId>,
    limit: i64,
) -> Result<Vec<Endpoint>, StoreError> {
    let found = each_backend!(conn, |c| {
        let mut query = notice_endpoints::table
            .filter(notice_endpoints::club_id.eq(tenant.club_id()))
            .filter(not(notice_endpoints::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(notice_endpoints::endpoint_id.gt(after));
        }
        query
            .order(notice_endpoints::endpoint_id)
            .limit(limit)
            .select(Row::as_select())
            .load(c)
    })?;
    opened(conn, tenant, found)
}

/// How an endpoint fares, as attempts show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Since when no attempt has succeeded.
    pub failing_since: Option<Timestamp>,
    /// Since when nothing is sent to it, and why.
    pub disabled: Option<(Timestamp, &'static str)>,
}

/// Notes how an endpoint fares, and leaves alone what somebody has set; `false` when it was disabled before, and then nothing changes.
///
/// # Errors
/// Those of the database.
pub fn note_standing(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeEndpointId,
    standing: Standing,
) -> Result<bool, StoreError> {
    let noted = each_backend!(conn, |c| diesel::update(notice_endpoints::table)
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(notice_endpoints::endpoint_id.eq(id))
        .filter(not(notice_endpoints::deleted))
        .filter(notice_endpoints::disabled_at.is_null())
        .set((
            notice_endpoints::failing_since.eq(Sql(standing.failing_since)),
            notice_endpoints::disabled_at.eq(Sql(standing.disabled.map(|(at, _)| at))),
            notice_endpoints::disabled_why.eq(standing.disabled.map(|(_, why)| why)),
        ))
        .execute(c))?;
    Ok(noted == 1)
}

/// How many endpoints of all clubs have taken nothing since `since` or longer, disabled or not: for the
/// service's own health, and so without a tenant.
///
/// # Errors
/// Those of the database.
pub fn failing(conn: &mut Conn, since: Timestamp) -> Result<i64, StoreError> {
    each_backend!(conn, |c| notice_endpoints::table
        .filter(not(notice_endpoints::deleted))
        .filter(notice_endpoints::failing_since.le(Sql(Some(since))))
        .count()
        .get_result(c))
}

/// Notes that a webhook has echoed this challenge; `false` when it waits for another one, or for none.
///
/// # Errors
/// Those of the database.
pub fn confirm(
    conn: &mut Conn,
    tenant: Tenant,
    id: NoticeEndpointId,
    challenge: NoticeId,
    at: Timestamp,
) -> Result<bool, StoreError> {
    let confirmed = each_backend!(conn, |c| diesel::update(notice_endpoints::table)
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(notice_endpoints::endpoint_id.eq(id))
        .filter(not(notice_endpoints::deleted))
        .filter(notice_endpoints::challenge_id.eq(challenge))
        .filter(notice_endpoints::confirmed_at.is_null())
        .set(notice_endpoints::confirmed_at.eq(Sql(Some(at))))
        .execute(c))?;
    Ok(confirmed == 1)
}

/// The endpoints that notices are sent to, or will be once they are confirmed.
///
/// # Errors
/// Those of the database.
pub fn enabled(conn: &mut Conn, tenant: Tenant) -> Result<Vec<Endpoint>, StoreError> {
    let found = each_backend!(conn, |c| notice_endpoints::table
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(not(notice_endpoints::deleted))
        .filter(notice_endpoints::disabled_at.is_null())
        .order(notice_endpoints::endpoint_id)
        .select(Row::as_select())
        .load(c))?;
    opened(conn, tenant, found)
}

/// Everybody who is written to, or was until they were disabled.
///
/// # Errors
/// Those of the database.
pub fn recipients(conn: &mut Conn, tenant: Tenant) -> Result<Vec<Endpoint>, StoreError> {
    let found = each_backend!(conn, |c| notice_endpoints::table
        .filter(notice_endpoints::club_id.eq(tenant.club_id()))
        .filter(not(notice_endpoints::deleted))
        .filter(notice_endpoints::channel.eq(Sql(Channel::Email)))
        .order(notice_endpoints::endpoint_id)
        .select(Row::as_select())
        .load(c))?;
    opened(conn, tenant, found)
}
