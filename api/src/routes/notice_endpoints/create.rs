//! `POST …/notice-endpoints`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::notice_endpoints::{self, NoticeEndpointInput, NoticeEndpointSecret, Ways};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Name a notice endpoint
///
/// A webhook: from now on every notice that it wants is posted to it, signed. The secret is in this answer and in no other.
///
/// A recipient of mail (`channel` is email): one letter when a week was closed, and one after corrections, with counts and a
/// link to each squad's list.
#[utoipa::path(
    tag = "Notices",
    operation_id = "create_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = NoticeEndpointInput,
    responses(
        (status = 201, description = "Made", body = NoticeEndpointSecret,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/notice-endpoints")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: NoticeEndpointInput = request.json()?;
    let ways = Ways::of(&app.config);
    write::run(&app, scope.caller, &request, move |change| {
        let answer = notice_endpoints::create(change, &input, ways)?;
        let id = answer.endpoint_id;
        let location = format!("/v1/clubs/{club}/notice-endpoints/{id}");
        Reply::created(location, answer.version, &answer)
    })
    .await
}
