//! `DELETE …/exercises/{exercise}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::exercises::{self, ClubCatalogue};
use crate::services::write;
use crate::store::Known;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteExercises;

/// Take an exercise back
///
/// One of the club's own, or the club's film of a shipped one. One that another builds on stays. Sign-offs of it stay and keep its name; a
/// tombstone is kept.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "delete_exercise",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path),
        ("exercise" = String, Path, description = "The code of the exercise", example = "bench_hop"), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/exercises/{exercise}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, String)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, code) = path.into_inner();
    let (code, conditions) = (exercises::code(&code)?, request.clone());
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let catalogue = ClubCatalogue::read(change.conn, tenant, Known::Now)?;
        let current = exercises::standing(&catalogue, &code).ok_or_else(Problem::not_found)?;
        conditions.require_match(current)?;
        exercises::remove(change, &catalogue, &code)?;
        Ok(Reply::empty())
    })
    .await
}
