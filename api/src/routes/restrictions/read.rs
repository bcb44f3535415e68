//! `GET …/restrictions/{restriction_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestrictionId};
use crate::services::audit::Reading;
use crate::services::restrictions::{self, RestrictionAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClinical;

/// Read a restriction
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "read_restriction",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("restriction_id" = RestrictionId, Path)),
    responses(
        (status = 200, description = "The restriction", body = RestrictionAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/restrictions/{restriction_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestrictionId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let record = app
        .store
        .read(caller.tenant, move |conn| {
            restrictions::find(conn, &caller, id)
        })
        .await?;
    let reading = Reading {
        athlete: record.content.athlete_id,
        action: "read_restriction",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(
        record.version.number,
        &RestrictionAnswer::from(record),
    ))
}
