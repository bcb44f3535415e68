//! `POST …/notice-endpoints/{endpoint_id}/approval`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::{self, NoticeEndpointAnswer};
use crate::services::{confirmation, write};
use crate::web::params::{KeyHeader, MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ApproveRecipients;

/// Approve a recipient of mail
///
/// A club's first recipient gets nothing before another person than the one who entered the address approves it, by the subject of
/// the token, and says with `If-Match` which version was read. What was kept back is sent then. One that needs no approval any more
/// stays as it is. The call takes no body.
#[utoipa::path(
    tag = "Notices",
    operation_id = "approve_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, KeyHeader, MatchHeader),
    responses(
        (status = 200, description = "Mail goes to it", body = NoticeEndpointAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}/approval")]
pub async fn approve(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let mut endpoint = notice_endpoints::find(change, id)?;
        conditions.require_match(endpoint.version)?;
        confirmation::approve(change, &mut endpoint)?;
        Reply::ok(endpoint.version, &NoticeEndpointAnswer::from(endpoint))
    })
    .await
}
