//! `GET …/rest-days/{rest_day_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestDayId};
use crate::services::audit::Reading;
use crate::services::rest_days::{self, RestDayAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadDays;

/// Read a day of rest
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Days",
    operation_id = "read_rest_day",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("rest_day_id" = RestDayId, Path)),
    responses(
        (status = 200, description = "The entry", body = RestDayAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/rest-days/{rest_day_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestDayId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let entry = app
        .store
        .read(caller.tenant, move |conn| {
            rest_days::find(conn, &caller, id)
        })
        .await?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_rest_day",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &RestDayAnswer::from(entry)))
}
