//! `GET …/consent-settings`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::consents::settings::{self, ConsentSettingsAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClub;

/// Read who consents to what in the club
///
/// From which age athletes decide for themselves, and which data nobody gets to see before somebody has consented. Everybody in the
/// club may know.
#[utoipa::path(
    tag = "Consents",
    operation_id = "read_consent_settings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The settings", body = ConsentSettingsAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/consent-settings")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let current = app
        .store
        .read(tenant, move |conn| settings::current(conn, tenant))
        .await?;
    Ok(found(
        current.version,
        &ConsentSettingsAnswer::from(current),
    ))
}
