//! `GET …/clearance-records/{clearance_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClearanceId, ClubId};
use crate::services::audit::Reading;
use crate::services::clearances::{self, ClearanceAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClinical;

/// Read a clearance record
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "read_clearance_record",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("clearance_id" = ClearanceId, Path)),
    responses(
        (status = 200, description = "The clearance record", body = ClearanceAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/clearance-records/{clearance_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ClearanceId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let record = app
        .store
        .read(caller.tenant, move |conn| {
            clearances::find(conn, &caller, id)
        })
        .await?;
    let reading = Reading {
        athlete: record.content.athlete_id,
        action: "read_clearance_record",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(1, &ClearanceAnswer::from(record)))
}
