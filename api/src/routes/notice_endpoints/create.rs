//! `POST …/notice-endpoints`.

use actix_web::{post, web};

use super::location;
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
/// A webhook: it is sent a challenge at once and has to answer 2xx with `{"challenge": "…"}`. Then every notice that it wants is posted
/// to it, signed, those that were kept back meanwhile (76 hours at most) included. The secret is in this answer and in no other.
///
/// A recipient of mail (`channel` is email): one letter when a week was closed, and one after corrections, with counts and a
/// link to each squad's list. To a club's first recipient nothing is sent before another person than the one who entered the address
/// approves it; later ones are free, unless the operator wants each approved.
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
        let answer = notice_endpoints::create(change, change.new_id(), &input, &ways)?;
        Reply::created(location(club, answer.endpoint_id), answer.version, &answer)
    })
    .await
}
