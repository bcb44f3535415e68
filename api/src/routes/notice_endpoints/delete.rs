//! `DELETE …/notice-endpoints/{endpoint_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::{notice_endpoints, write};
use crate::store::notices::endpoints;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Delete a notice endpoint
///
/// Nothing more is sent to it. Its URL and secrets are forgotten; what was delivered stays listed.
#[utoipa::path(
    tag = "Notices",
    operation_id = "delete_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Deleted"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = notice_endpoints::find(change, id)?;
        conditions.require_match(current.version)?;
        let tenant = change.tenant();
        endpoints::delete(change.conn, tenant, id)?;
        Ok(Reply::empty())
    })
    .await
}
