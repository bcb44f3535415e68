//! `GET …/calendars/{calendar_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::{self, CalendarAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ManageCalendars;

/// Read a calendar
///
/// Its settings, what its last reading came to, and since when it cannot be read.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "read_calendar",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("calendar_id" = CalendarId, Path)),
    responses(
        (status = 200, description = "The calendar", body = CalendarAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/calendars/{calendar_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, CalendarId)>,
) -> Result<HttpResponse, Problem> {
    let ((_, id), tenant) = (path.into_inner(), scope.caller.tenant);
    let answer = app
        .store
        .read(tenant, move |conn| {
            CalendarAnswer::of(calendars::find(conn, tenant, id)?)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
