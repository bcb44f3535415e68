//! `POST …/deliveries/{delivery_id}/redelivery`.

use actix_web::{post, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, DeliveryId, NoticeId};
use crate::services::{confirmation, notice_endpoints, write};
use crate::store::notices::deliveries::{self, Start};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// A delivery that is on its way again.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"delivery_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "notice_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"}))]
pub struct Redelivery {
    /// Its id.
    pub delivery_id: DeliveryId,
    /// What it delivers.
    pub notice_id: NoticeId,
}

/// Send a notice again
///
/// To the same endpoint, with the same id and the same bytes, and by a new timetable; to one that is not confirmed once it is. The
/// call takes no body.
#[utoipa::path(
    tag = "Notices",
    operation_id = "redeliver",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("delivery_id" = DeliveryId, Path), WriteParams, KeyHeader),
    responses((status = 202, description = "On its way", body = Redelivery), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/deliveries/{delivery_id}/redelivery")]
pub async fn redeliver(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, DeliveryId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let found = deliveries::find(change.conn, tenant, id)?.ok_or_else(Problem::not_found)?;
        let endpoint = notice_endpoints::require_enabled(change, found.endpoint_id)?;
        let start = if endpoint.is_asked_by(found.notice_id) {
            Start::at(change.now())
        } else {
            confirmation::start(&endpoint, change.now())
        };
        deliveries::redeliver(change.conn, tenant, id, start)?;
        let (delivery_id, notice_id) = (id, found.notice_id);
        Reply::json(
            202,
            &Redelivery {
                delivery_id,
                notice_id,
            },
        )
    })
    .await
}
