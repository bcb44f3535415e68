//! `POST …/notice-endpoints/{endpoint_id}/secret-rotation`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::{self, NoticeEndpointSecret};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Rotate the secret of a notice endpoint
///
/// Messages carry the signatures of the new secret and of the one before for 24 hours, then of the new one alone. The
/// new secret is in this answer and in no other. The call takes no body.
#[utoipa::path(
    tag = "Notices",
    operation_id = "rotate_notice_endpoint_secret",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, KeyHeader),
    responses(
        (status = 200, description = "The new secret", body = NoticeEndpointSecret,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}/secret-rotation")]
pub async fn rotate(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    write::run(&app, scope.caller, &request, move |change| {
        let current = notice_endpoints::find(change, id)?;
        let answer = notice_endpoints::rotate(change, current)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
