//! `GET …/athletes/{athlete_id}/consents/{consent_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::services::audit::Reading;
use crate::services::consents::{self, ConsentAnswer, gate};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadConsents;

/// Read a consent
///
/// The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Consents",
    operation_id = "read_consent",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("consent_id" = ConsentId, Path)),
    responses(
        (status = 200, description = "The consent", body = ConsentAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/consents/{consent_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, ConsentId)>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete, id) = path.into_inner();
    let (caller, clock) = (scope.caller.clone(), app.clock.now());
    let answer = app
        .store
        .read(caller.tenant, move |conn| {
            let found = consents::find(conn, &caller, (athlete, id))?;
            let now = gate::instant(conn, caller.tenant, clock)?;
            Ok::<_, Problem>(ConsentAnswer::new(found, now))
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "read_consent",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(answer.version, &answer))
}
