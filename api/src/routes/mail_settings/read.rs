//! `GET …/mail-settings`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::mail_settings::MailSettingsAnswer;
use crate::store::mail;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ManageNotices;

/// Read how mail looks and when it goes out
///
/// Under the club's name and at any hour, where nothing else was set.
#[utoipa::path(
    tag = "Notices",
    operation_id = "read_mail_settings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The settings", body = MailSettingsAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/mail-settings")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let stored = app
        .store
        .read(tenant, move |conn| mail::settings(conn, tenant))
        .await?;
    let answer = MailSettingsAnswer::from(stored);
    Ok(found(answer.version, &answer))
}
