//! `GET …/notice-endpoints/{endpoint_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::NoticeEndpointAnswer;
use crate::store::notices::endpoints;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ApproveRecipients;

/// Read a notice endpoint
#[utoipa::path(
    tag = "Notices",
    operation_id = "read_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path)),
    responses(
        (status = 200, description = "The endpoint, without its secret", body = NoticeEndpointAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let tenant = scope.caller.tenant;
    let endpoint = app
        .store
        .read(tenant, move |conn| endpoints::find(conn, tenant, id))
        .await?
        .ok_or_else(Problem::not_found)?;
    Ok(found(
        endpoint.version,
        &NoticeEndpointAnswer::from(endpoint),
    ))
}
