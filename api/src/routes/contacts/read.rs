//! `GET …/sessions/{session_id}/contacts`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::audit::Reading;
use crate::services::contacts::{self, SessionContactsAnswer};
use crate::services::sessions;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSessions;

/// Read what was counted in a session
///
/// The current version; 404 where nobody counted. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "read_session_contacts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path)),
    responses(
        (status = 200, description = "The counts", body = SessionContactsAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/sessions/{session_id}/contacts")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let answer = app
        .store
        .read(caller.tenant, move |conn| {
            sessions::find(conn, &caller, id)?;
            let stored = contacts::find(conn, caller.tenant, id)?;
            SessionContactsAnswer::new(&stored)
        })
        .await?;
    let reading = Reading {
        athlete: answer.athlete_id,
        action: "read_session_contacts",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(answer.version, &answer))
}
