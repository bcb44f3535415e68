//! `GET …/sessions/{session_id}`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SessionId};
use crate::services::audit::Reading;
use crate::services::sessions::{self, SessionAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::etag;

type Needed = right::ReadSessions;

/// Read a session report
///
/// The current version. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "read_session",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("session_id" = SessionId, Path)),
    responses(
        (status = 200, description = "The report", body = SessionAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/sessions/{session_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SessionId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let found = app
        .store
        .read(move |conn| sessions::find(conn, &caller, id))
        .await?;
    let reading = Reading {
        athlete: found.content.athlete_id,
        action: "read_session",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    let version = &found.version;
    let answer = SessionAnswer::new(
        &found.content,
        version.number,
        version.received_at,
        Vec::new(),
    )?;
    Ok(HttpResponse::Ok()
        .insert_header((header::ETAG, etag(version.number)))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}
