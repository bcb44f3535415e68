//! `GET /v1/clubs/{club_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::clubs::ClubAnswer;
use crate::store::clubs;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadClub;

/// Read a club
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_club",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The club", body = ClubAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let club = app
        .store
        .read(scope.caller.tenant, move |conn| {
            clubs::find(conn, scope.caller.tenant)
        })
        .await?;
    let club = club.ok_or_else(Problem::not_found)?;
    Ok(found(club.version, &ClubAnswer::of(club, app.is_sandbox())))
}
