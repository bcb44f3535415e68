//! `POST …/notice-endpoints/{endpoint_id}/test`.

use actix_web::{post, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId, NoticeId};
use crate::services::{notice_endpoints, notices, write};
use crate::store::WaitingFor;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// A notice that is on its way.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"notice_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "waiting_for": null}))]
pub struct TestNotice {
    /// Its id: its deliveries say what came of it.
    pub notice_id: NoticeId,
    /// What has to come before it is sent: confirmation or approval; null where nothing has to.
    #[schema(value_type = Option<String>)]
    pub waiting_for: Option<&'static str>,
}

/// Try a notice endpoint
///
/// Sends a notice of the kind test, on the way of any other, to this endpoint alone; to one that is not confirmed once it is.
/// The call takes no body.
#[utoipa::path(
    tag = "Notices",
    operation_id = "test_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, KeyHeader),
    responses((status = 202, description = "On its way", body = TestNotice), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}/test")]
pub async fn try_out(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    write::run(&app, scope.caller, &request, move |change| {
        notice_endpoints::find(change, id)?;
        let endpoint = notice_endpoints::require_enabled(change, id)?;
        let notice_id = notices::enqueue_test(change, &endpoint)?;
        let waiting_for = endpoint.waiting_for().map(WaitingFor::code);
        Reply::json(
            202,
            &TestNotice {
                notice_id,
                waiting_for,
            },
        )
    })
    .await
}
