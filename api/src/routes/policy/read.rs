//! `GET …/policy`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::adopt::PolicyAnswer;
use crate::store::policies;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadPolicy;

/// Read the policy
///
/// The latest version, whether or not it is in force yet. A new club has none: 404, figures are
/// computed all the same, and nothing is flagged.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_policy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The latest version", body = PolicyAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let latest = app
        .store
        .read(scope.caller.tenant, move |conn| {
            policies::latest(conn, scope.caller.tenant)
        })
        .await?;
    let answer = PolicyAnswer::new(latest.ok_or_else(Problem::not_found)?)?;
    Ok(found(answer.version, &answer))
}
