//! `GET …/mail-names`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::mail_settings::MailNamesAnswer;
use crate::store::mail;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClub;

/// Read whether mail names athletes
///
/// It does not, unless the club's privacy lead has allowed it. Everybody in the club may know.
#[utoipa::path(
    tag = "Notices",
    operation_id = "read_mail_names",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "Whether it does", body = MailNamesAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/mail-names")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let stored = app
        .store
        .read(tenant, move |conn| mail::names(conn, tenant))
        .await?;
    Ok(found(stored.version, &MailNamesAnswer::from(stored)))
}
