//! `PUT …/notice-endpoints/{endpoint_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::{
    self, NoticeEndpointAnswer, NoticeEndpointInput, NoticeEndpointSecret, Ways,
};
use crate::services::write;
use crate::store::notices::endpoints;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Put a notice endpoint
///
/// Names an endpoint under an id of the caller's making (UUIDv7), as `POST` does, or replaces the one that is there, as `PATCH` does.
/// Identical content needs no `If-Match` and is answered 200; other content does. The secret is in the answer 201 and in no other:
/// rotate it where that answer was lost. An id that was deleted stays deleted (409).
#[utoipa::path(
    tag = "Notices",
    operation_id = "put_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, MatchHeader),
    request_body = NoticeEndpointInput,
    responses(
        (status = 201, description = "Made under the new id", body = NoticeEndpointSecret,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "Unchanged, or a new version", body = NoticeEndpointAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    let ways = Ways::of(&app.config);
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let Some(current) = endpoints::find(change.conn, tenant, id)? else {
            sent.require_absent()?;
            let answer = notice_endpoints::create(change, id, &sent.json()?, &ways)?;
            return Reply::created(location(club, id), answer.version, &answer);
        };
        let before = current.version;
        sent.put_precondition(before)?;
        let answer = notice_endpoints::replace(change, current, &sent.json()?, ways)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
