//! `PUT …/consent-settings`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::consents::settings::{self, ConsentSettingsAnswer, ConsentSettingsInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::OverseeConsents;

/// Set who consents to what in the club
///
/// Local law decides from which age athletes decide for themselves and what needs consent; the club's own counsel knows. What a
/// family has withdrawn is closed whatever is set here.
#[utoipa::path(
    tag = "Consents",
    operation_id = "put_consent_settings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = ConsentSettingsInput,
    responses(
        (status = 200, description = "As they now are", body = ConsentSettingsAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/consent-settings")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    if !request.dry_run {
        let action = "put_consent_settings";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let before = settings::current(change.conn, tenant)?;
        let version = before.version;
        sent.put_precondition(version)?;
        let input: ConsentSettingsInput = sent.json()?;
        let answer = settings::set(change, before, &input)?;
        sent.after_put(version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
