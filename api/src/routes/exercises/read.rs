//! `GET …/exercises/{exercise}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::exercises::{self, ClubCatalogue, ExerciseAnswer};
use crate::store::Known;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadExercises;

/// Read an exercise
///
/// By its code, with the club's film. It is about nobody.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "read_exercise",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path),
        ("exercise" = String, Path, description = "The code of the exercise", example = "block_jump")),
    responses(
        (status = 200, description = "The exercise", body = ExerciseAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/exercises/{exercise}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, String)>,
) -> Result<HttpResponse, Problem> {
    let (_, code) = path.into_inner();
    let (code, tenant) = (exercises::code(&code)?, scope.caller.tenant);
    let answer = app
        .store
        .read(tenant, move |conn| {
            ClubCatalogue::read(conn, tenant, Known::Now)?.find(&code)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
