//! `POST …/sessions`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::sessions::{self, SessionAnswer, SessionInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Report a session
///
/// Stores one session report and counts it. The same content under the same natural key again is
/// answered 200 and changes nothing; other content is a new version.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "record_session",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = SessionInput,
    responses(
        (status = 201, description = "Stored", body = SessionAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged or as a new version", body = SessionAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/sessions")]
pub async fn record(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: SessionInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let written = sessions::create(change, &input)?;
        let (answer, version) = (&written.answer, written.answer.version);
        if written.created {
            return Reply::created(location(club, answer.session_id), version, answer);
        }
        Reply::ok(version, answer)
    })
    .await
}
