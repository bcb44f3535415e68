//! `POST …/athletes/{athlete_id}/holds`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::retention::holds::{self, HoldAnswer, HoldInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::SetRetention;

/// Hold an athlete's records
///
/// While a hold stands nothing of her is erased by itself, whatever is due. What it is for is one of a list and nothing is written
/// about her. Several may stand at once. It keeps nobody from reading.
#[utoipa::path(
    tag = "Retention",
    operation_id = "create_hold",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = HoldInput,
    responses(
        (status = 201, description = "Held", body = HoldAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "The list it is on"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/holds")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let ((club, athlete), sent) = (path.into_inner(), request.clone());
    if !request.dry_run {
        let action = "create_hold";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let answer = holds::enter(change, athlete, || sent.json::<HoldInput>())?;
        let location = format!("/v1/clubs/{club}/athletes/{athlete}/holds");
        Reply::created(location, answer.version, &answer)
    })
    .await
}
