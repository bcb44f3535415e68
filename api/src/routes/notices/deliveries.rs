//! `GET …/notices/{notice_id}/deliveries`.

use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, DeliveryId, NoticeEndpointId, NoticeId};
use crate::store::notices::deliveries::{self, Attempt, Delivery};
use crate::store::{DeliveryState, StoreError, WaitingFor};
use crate::web::refusals::ReadRefusals;

type Needed = right::ManageNotices;

/// One attempt to deliver. What the other side said is not kept, but its status and how much it was.
#[derive(Debug, Serialize, ToSchema)]
pub struct AttemptAnswer {
    /// 1, 2, 3, …
    pub attempt: i32,
    /// When it ended.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// accepted, refused, gone, not_echoed (of a challenge: an answer without it), blocked (the address may not be called), unreachable
    /// or timed_out; of mail also not_sent (it
    /// could not be handed to the service's own mail server) and unknown (all of it was sent and no answer came).
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// The status answered.
    pub status: Option<i32>,
    /// Bytes of the answer that were read and thrown away, at most 64,000.
    pub answer_bytes: Option<i32>,
}

/// A notice on its way to an endpoint.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeliveryAnswer {
    /// Its id.
    pub delivery_id: DeliveryId,
    /// Where to.
    pub endpoint_id: NoticeEndpointId,
    /// pending, delivered, failed (given up) or disabled (its endpoint was).
    #[schema(value_type = String)]
    pub state: &'static str,
    /// When the next attempt is due; null when there is none.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub due_at: Option<Timestamp>,
    /// What it waits for, or waited for in vain, where that is not an answer of the other side: confirmation (the endpoint has to echo
    /// its challenge), approval (a second person has to approve the recipient), quiet_hours, mail_quota or mail_server.
    #[schema(value_type = Option<String>)]
    pub waiting_for: Option<&'static str>,
    /// Every attempt, in order.
    pub attempts: Vec<AttemptAnswer>,
}

/// The deliveries of a notice, one an endpoint.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"delivery_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "endpoint_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "state": "delivered", "due_at": null, "waiting_for": null,
    "attempts": [{"attempt": 1, "at": "2026-11-09T06:00:01Z", "outcome": "accepted", "status": 204,
        "answer_bytes": 0}]}]}))]
pub struct DeliveryList {
    /// The deliveries.
    pub items: Vec<DeliveryAnswer>,
}

/// List the deliveries of a notice
///
/// With every attempt made, and what came of it.
#[utoipa::path(
    tag = "Notices",
    operation_id = "list_deliveries",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("notice_id" = NoticeId, Path)),
    responses((status = 200, description = "The deliveries", body = DeliveryList), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/notices/{notice_id}/deliveries")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let tenant = scope.caller.tenant;
    let found = app
        .store
        .read(tenant, move |conn| {
            let notice = deliveries::find_notice(conn, tenant, id)?;
            let rows = deliveries::of_notice(conn, tenant, id)?;
            let attempts = deliveries::attempts_of_notice(conn, tenant, id)?;
            Ok::<_, StoreError>(notice.map(|_| (rows, attempts)))
        })
        .await?;
    let (rows, attempts) = found.ok_or_else(Problem::not_found)?;
    let items = rows
        .into_iter()
        .map(|row| DeliveryAnswer::new(&row, &attempts))
        .collect();
    Ok(HttpResponse::Ok()
        .insert_header(("cache-control", "no-store"))
        .json(DeliveryList { items }))
}

impl DeliveryAnswer {
    fn new(row: &Delivery, attempts: &[Attempt]) -> Self {
        let own = |attempt: &&Attempt| attempt.delivery_id == row.delivery_id;
        let pending = row.state == DeliveryState::Pending;
        let waits = pending || row.state == DeliveryState::Failed;
        Self {
            delivery_id: row.delivery_id,
            endpoint_id: row.endpoint_id,
            state: row.state.code(),
            due_at: pending.then_some(row.due_at),
            waiting_for: row.waiting_for.filter(|_| waits).map(WaitingFor::code),
            attempts: attempts
                .iter()
                .filter(own)
                .map(AttemptAnswer::from)
                .collect(),
        }
    }
}

impl From<&Attempt> for AttemptAnswer {
    fn from(row: &Attempt) -> Self {
        Self {
            attempt: row.attempt,
            at: row.at,
            outcome: row.outcome.code(),
            status: row.status,
            answer_bytes: row.answer_bytes,
        }
    }
}
