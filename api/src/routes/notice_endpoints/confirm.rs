//! `POST …/notice-endpoints/{endpoint_id}/confirmation`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::{self, NoticeEndpointAnswer};
use crate::services::{confirmation, write};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Ask a webhook for its echo again
///
/// Sends the challenge again at once, by a new timetable, to a webhook that has not echoed it; one that has stays as it is. The
/// deliveries of `challenge_notice_id` say what comes of it. The call takes no body.
#[utoipa::path(
    tag = "Notices",
    operation_id = "confirm_notice_endpoint",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("endpoint_id" = NoticeEndpointId, Path), WriteParams, KeyHeader),
    responses(
        (status = 202, description = "The challenge is on its way", body = NoticeEndpointAnswer),
        (status = 200, description = "It is confirmed", body = NoticeEndpointAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/notice-endpoints/{endpoint_id}/confirmation")]
pub async fn confirm(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, NoticeEndpointId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    write::run(&app, scope.caller, &request, move |change| {
        notice_endpoints::find(change, id)?;
        let mut endpoint = notice_endpoints::require_enabled(change, id)?;
        confirmation::ask_again(change, &mut endpoint)?;
        let status = match endpoint.confirmed_at {
            Some(_) => 200,
            None => 202,
        };
        Reply::json(status, &NoticeEndpointAnswer::from(endpoint))
    })
    .await
}
