//! `PUT …/exercises/{exercise}`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::exercises::{self, ClubCatalogue, ExerciseAnswer};
use crate::services::write;
use crate::store::Known;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteExercises;

/// Put an exercise
///
/// Enters an exercise of the club's own under a code of its making (3 to 60 of a to z, 0 to 9 and _, a letter first), replaces it, or attaches the club's film to a shipped one, of which
/// the rest stays. Prerequisites that go in a circle, are unknown, or skip a step of the landings are refused. Identical content needs no
/// `If-Match` and is answered 200; other content does, of a shipped exercise too.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "put_exercise",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path),
        ("exercise" = String, Path, description = "The code of the exercise", example = "bench_hop"), WriteParams, MatchHeader),
    request_body = exercises::ExerciseInput,
    responses(
        (status = 201, description = "Entered under the new code", body = ExerciseAnswer),
        (status = 200, description = "Unchanged, or a new version", body = ExerciseAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/exercises/{exercise}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, String)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, code) = path.into_inner();
    let (code, sent) = (exercises::code(&code)?, request.clone());
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let catalogue = ClubCatalogue::read(change.conn, tenant, Known::Now)?;
        let before = exercises::standing(&catalogue, &code);
        match before {
            None => sent.require_absent()?,
            Some(version) => sent.put_precondition(version)?,
        }
        let answer = exercises::put(change, &catalogue, &code, &sent.json()?)?;
        match before {
            None => {
                let location = format!("/v1/clubs/{club}/exercises/{code}");
                Reply::created(location, answer.version, &answer)
            }
            Some(before) => {
                sent.after_put(before, answer.version)?;
                Reply::ok(answer.version, &answer)
            }
        }
    })
    .await
}
