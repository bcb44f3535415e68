//! `PATCH …/notice-endpoints/{endpoint_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::{self, NoticeEndpointAnswer, NoticeEndpointInput, Ways};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Change a notice endpoint
///
/// A JSON Merge Patch (RFC 7396): another URL or address, other squads, enabled or not. At another URL or address it has to be
/// confirmed or approved again, and what is on its way goes there then; what is on its way to an endpoint that is disabled is not sent.
#[utoipa::path(
    tag = "Notices",
    operation_id = "patch_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, MatchHeader),
    request_body(content = NoticeEndpointInput, content_type = "application/merge-patch+json",
        example = json!({"enabled": false})),
    responses(
        (status = 200, description = "The endpoint as it now is", body = NoticeEndpointAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    let ways = Ways::of(&app.config);
    write::run(&app, scope.caller, &request, move |change| {
        let current = notice_endpoints::find(change, id)?;
        patch.require_match(current.version)?;
        let input: NoticeEndpointInput = patch.merge_patch(&NoticeEndpointInput::of(&current))?;
        let answer = notice_endpoints::replace(change, current, &input, ways)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
