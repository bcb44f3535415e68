//! `POST …/athletes/{athlete_id}/sharing-codes`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::sharing::links::{self, SharingCodeAnswer, SharingCodeInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::GiveConsents;

/// Name an organisation that is to share
///
/// By whoever decides for the athlete, in the club that is to receive. From now on figures say that there is one more organisation that
/// shares nothing. The answer has a code, told once: with it her family consents in that organisation's club that its day totals come
/// here. The code ties the two records together, and neither club learns the other's id of her.
#[utoipa::path(
    tag = "Consents",
    operation_id = "create_sharing_code",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = SharingCodeInput,
    responses(
        (status = 201, description = "Named", body = SharingCodeAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "The list it is on"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/sharing-codes")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let ((club, athlete), sent) = (path.into_inner(), request.clone());
    if !request.dry_run {
        let action = "create_sharing_code";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let answer = links::name(change, athlete, || sent.json::<SharingCodeInput>())?;
        let location = format!("/v1/clubs/{club}/athletes/{athlete}/sharing-links");
        Reply::created(location, answer.link.version, &answer)
    })
    .await
}
