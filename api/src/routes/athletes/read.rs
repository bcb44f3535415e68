//! `GET …/athletes/{athlete_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::athletes::{AthleteAnswer, answer};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadAthletes;

/// Read an athlete
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "People",
    operation_id = "read_athlete",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path)),
    responses(
        (status = 200, description = "The athlete", body = AthleteAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let caller = scope.caller.clone();
    let athlete = app
        .store
        .read(caller.tenant, move |conn| {
            let athlete = reach::athlete(conn, &caller, athlete_id)?;
            answer::answer(conn, &caller, athlete)
        })
        .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_athlete",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(athlete.version, &athlete))
}
