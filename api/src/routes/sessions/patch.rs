//! `PATCH …/sessions/{session_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::sessions::{self, SessionAnswer, SessionInput, Target, answer};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Correct a session report
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out. The earlier version is
/// kept, and flags of closed weeks are judged again.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "patch_session",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path), WriteParams, MatchHeader),
    request_body(content = SessionInput, content_type = "application/merge-patch+json",
        example = json!({"rpe": 6})),
    responses(
        (status = 200, description = "The report as it now is", body = SessionAnswer),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/sessions/{session_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = sessions::find(change.conn, change.caller, id)?;
        patch.require_match(current.version.number)?;
        let input: SessionInput = patch.merge_patch(&answer::as_input(&current.content)?)?;
        let target = Target {
            id,
            current: Some(current),
        };
        let written = sessions::replace(change, &input, target)?;
        Reply::ok(written.answer.version, &written.answer)
    })
    .await
}
