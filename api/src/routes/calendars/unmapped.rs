//! `GET …/calendars/{calendar_id}/unmapped`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::{self, UnmappedAnswer, turn};
use crate::web::refusals::ReadRefusals;

type Needed = right::ManageCalendars;

/// Read what of a calendar gives no session
///
/// Events that no rule names or that cannot be sessions, those that say the same together, and events that cannot be read. Nothing is
/// guessed: add a rule, or `not_a_session` for what is none.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "read_unmapped",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("calendar_id" = CalendarId, Path)),
    responses((status = 200, description = "What gives no session", body = UnmappedAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/calendars/{calendar_id}/unmapped")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, CalendarId)>,
) -> Result<HttpResponse, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let (now, turn) = (app.clock.now(), turn::to_read().await?);
    let answer = app
        .store
        .read(tenant, move |conn| {
            let _held = &turn;
            calendars::unmapped(conn, tenant, id, now)
        })
        .await?;
    Ok(HttpResponse::Ok().json(answer))
}
