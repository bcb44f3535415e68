//! `GET …/injuries/{injury_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, InjuryId};
use crate::services::audit::Reading;
use crate::services::injuries::{self, InjuryAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadTests;

/// Read an injury
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Tests",
    operation_id = "read_injury",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("injury_id" = InjuryId, Path)),
    responses(
        (status = 200, description = "The entry", body = InjuryAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/injuries/{injury_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, InjuryId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let entry = app
        .store
        .read(caller.tenant, move |conn| injuries::find(conn, &caller, id))
        .await?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_injury",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &InjuryAnswer::from(entry)))
}
