//! `POST …/athletes/{athlete_id}/consents`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::consents::{self, ConsentAnswer, ConsentInput};
use crate::services::sharing::SharingCode;
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::GiveConsents;

/// Consent
///
/// By a guardian for the token's children, and from the age that the club has set by the athlete herself; what guardians gave
/// before holds until she changes it. The privacy lead enters a form that whoever decides has signed, and says where it is kept.
/// Each class of data for each recipient is a choice of its own, and none is a condition for another. It never reaches back.
/// Local law decides who may consent, and to what.
///
/// Day totals go to another club by the code that the family got there (`create_sharing_code`), in the same moment; later changes of
/// them follow within half a minute. That club gets date, AU and minutes of what this one organises, and no titles, places, times
/// or names.
#[utoipa::path(
    tag = "Consents",
    operation_id = "create_consent",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = ConsentInput,
    responses(
        (status = 201, description = "On record", body = ConsentAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/consents")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let ((club, athlete), sent) = (path.into_inner(), request.clone());
    if !request.dry_run {
        let action = "create_consent";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    let beside = SharingCode::of_body(request.raw_body()).map(|code| code.club);
    write::run_beside(
        &app,
        scope.caller,
        &request,
        beside,
        move |change, there| {
            let answer = consents::give(change, there, athlete, || sent.json::<ConsentInput>())?;
            let location = location(club, athlete, answer.consent_id);
            Reply::created(location, answer.version, &answer)
        },
    )
    .await
}
