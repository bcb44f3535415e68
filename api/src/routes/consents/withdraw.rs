//! `POST …/athletes/{athlete_id}/consents/{consent_id}/withdrawal`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::services::consents::{self, ConsentAnswer, WithdrawalInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::GiveConsents;

/// Withdraw a consent
///
/// By whoever decides now, without a reason, and at once: what is read after this is answered no longer shows the data. The consent
/// stays on record with who withdrew it. Withdrawn twice it is unchanged; a new consent is another one.
///
/// Of day totals for another club the copies there are gone once this is answered, of earlier states of knowledge too, its flags are
/// judged again without them, and judgements that rested on them are no longer shown there.
#[utoipa::path(
    tag = "Consents",
    operation_id = "withdraw_consent",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("consent_id" = ConsentId, Path), WriteParams, KeyHeader,
    ),
    request_body = WithdrawalInput,
    responses(
        (status = 200, description = "Withdrawn", body = ConsentAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/consents/{consent_id}/withdrawal")]
pub async fn withdraw(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, ConsentId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "withdraw_consent";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    let tenant = scope.caller.tenant;
    let beside = app
        .store
        .read(tenant, move |conn| {
            consents::recipient_club(conn, tenant, id)
        })
        .await?;
    write::run_beside(
        &app,
        scope.caller,
        &request,
        beside,
        move |change, there| {
            let input = || sent.json::<WithdrawalInput>();
            let answer = consents::withdraw(change, there, (athlete, id), input)?;
            Reply::ok(answer.version, &answer)
        },
    )
    .await
}
