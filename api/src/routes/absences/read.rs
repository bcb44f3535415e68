//! `GET …/absences/{absence_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AbsenceId, ClubId};
use crate::services::absences::{self, AbsenceAnswer};
use crate::services::audit::Reading;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadDays;

/// Read an absence
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Days",
    operation_id = "read_absence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("absence_id" = AbsenceId, Path)),
    responses(
        (status = 200, description = "The entry", body = AbsenceAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/absences/{absence_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AbsenceId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let entry = app
        .store
        .read(caller.tenant, move |conn| absences::find(conn, &caller, id))
        .await?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_absence",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &AbsenceAnswer::from(entry)))
}
