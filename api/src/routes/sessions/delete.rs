//! `DELETE …/sessions/{session_id}`.

use actix_web::{delete, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::{sessions, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Why something is removed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "entered twice"}))]
pub struct Removal {
    /// 1 to 280 characters.
    #[schema(value_type = String)]
    pub reason: Option<String>,
}

/// Remove a session report
///
/// The report stops counting; a tombstone with the reason is kept.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "delete_session",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path), WriteParams, MatchHeader),
    request_body = Removal,
    responses((status = 204, description = "Removed"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/sessions/{session_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = sessions::find(change.conn, change.caller, id)?;
        sent.require_match(current.version.number)?;
        let removal: Removal = sent.json_or_default()?;
        sessions::remove(change, current, removal.reason)?;
        Ok(Reply::empty())
    })
    .await
}
