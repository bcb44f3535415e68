//! `GET …/licences/{licence_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, LicenceId};
use crate::services::licences::{self, LicenceAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadLicences;

/// Read a licence
#[utoipa::path(
    tag = "Clinical",
    operation_id = "read_licence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("licence_id" = LicenceId, Path)),
    responses(
        (status = 200, description = "The licence", body = LicenceAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/licences/{licence_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, LicenceId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let tenant = scope.caller.tenant;
    let licence = app
        .store
        .read(tenant, move |conn| licences::find(conn, tenant, id))
        .await?;
    Ok(found(licence.version.number, &LicenceAnswer::from(licence)))
}
