//! `PUT …/sessions/{session_id}/contacts`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::contacts::{self, SessionContactsAnswer, SessionContactsInput};
use crate::services::{sessions, write};
use crate::store::session_contacts;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Put what was counted in a session
///
/// Landings, throws or both, of a report that is there. What nobody counted is null, never 0. Identical content needs no `If-Match` and
/// is answered 200; other content does. Removing the report takes its counts along.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "put_session_contacts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path), WriteParams, MatchHeader),
    request_body = SessionContactsInput,
    responses(
        (status = 201, description = "Stored", body = SessionContactsAnswer),
        (status = 200, description = "Unchanged, or a new version", body = SessionContactsAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/sessions/{session_id}/contacts")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let session = sessions::find(change.conn, change.caller, id)?.content;
        let current = session_contacts::current(change.conn, change.tenant(), id)?;
        let standing = current.as_ref().filter(|current| !current.version.deleted);
        let before = standing.map(|current| current.version.number);
        match before {
            None => sent.require_absent()?,
            Some(version) => sent.put_precondition(version)?,
        }
        let answer = contacts::put(change, &session, current, &sent.json()?)?;
        match before {
            None => {
                let location = format!("/v1/clubs/{club}/sessions/{id}/contacts");
                Reply::created(location, answer.version, &answer)
            }
            Some(before) => {
                sent.after_put(before, answer.version)?;
                Reply::ok(answer.version, &answer)
            }
        }
    })
    .await
}
