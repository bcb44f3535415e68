//! `GET …/retention`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::retention::settings::{self, RetentionAnswer};
use crate::store::Known;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadRetention;

/// Read how long the club keeps what
///
/// In days after an athlete left, by class of records, with how long that comes to, since what needs a class goes before it. A club
/// that has set nothing keeps everything. Local law decides how long records may and must be kept.
#[utoipa::path(
    tag = "Retention",
    operation_id = "read_retention",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The settings", body = RetentionAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/retention")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let current = app
        .store
        .read(tenant, move |conn| {
            settings::known(conn, tenant, Known::Now)
        })
        .await?;
    let answer = RetentionAnswer::new(current);
    Ok(found(answer.version, &answer))
}
