//! `GET …/attendance/{attendance_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AttendanceId, ClubId};
use crate::services::attendance::{self, AttendanceAnswer};
use crate::services::audit::Reading;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSchedule;

/// Read attendance
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "read_attendance",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("attendance_id" = AttendanceId, Path)),
    responses(
        (status = 200, description = "The entry", body = AttendanceAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/attendance/{attendance_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AttendanceId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let entry = app
        .store
        .read(caller.tenant, move |conn| {
            attendance::find(conn, &caller, id)
        })
        .await?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_attendance",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &AttendanceAnswer::from(entry)))
}
