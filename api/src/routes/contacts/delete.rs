//! `DELETE …/sessions/{session_id}/contacts`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::{contacts, sessions, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Take the counts of a session back
///
/// The session is not counted any more; a tombstone is kept.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "delete_session_contacts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/sessions/{session_id}/contacts")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        sessions::find(change.conn, change.caller, id)?;
        let tenant = change.tenant();
        let current = contacts::find(change.conn, tenant, id)?;
        conditions.require_match(current.version.number)?;
        contacts::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
