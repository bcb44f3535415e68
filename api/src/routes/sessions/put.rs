//! `PUT …/sessions/{session_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::sessions::{self, SessionAnswer, SessionInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Put a session report
///
/// Stores a report under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "put_session",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path), WriteParams, MatchHeader),
    request_body = SessionInput,
    responses(
        (status = 201, description = "Stored under the new id", body = SessionAnswer),
        (status = 200, description = "Unchanged, or a new version", body = SessionAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/sessions/{session_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let target = sessions::target(change.conn, change.caller, id)?;
        let standing = target
            .current
            .as_ref()
            .filter(|current| !current.version.deleted);
        let before = standing.map(|current| current.version.number);
        match before {
            None => sent.require_absent()?,
            Some(version) => sent.put_precondition(version)?,
        }
        let written = sessions::replace(change, &sent.json()?, target)?;
        let (answer, version) = (&written.answer, written.answer.version);
        match before {
            None => Reply::created(location(club, id), version, answer),
            Some(before) => {
                sent.after_put(before, version)?;
                Reply::ok(version, answer)
            }
        }
    })
    .await
}
