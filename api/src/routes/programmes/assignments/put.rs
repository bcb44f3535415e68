//! `PUT …/programmes/{programme_id}/assignments/{assignment_id}`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeAssignmentId, ProgrammeId};
use crate::services::programmes::assignments::{self, AssignmentAnswer, AssignmentInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteProgrammes;

/// Assign a programme
///
/// To a squad or to one athlete, under an id of the caller's making (UUIDv7), or changes the assignment that is there. It names a version
/// of the programme: a later one is done only once the assignment says so. To one athlete it goes with changes of her own, which leave
/// items out, replace or alter them, and her assignment goes before those of her squads. To one athlete no jump with a load is assigned
/// before its sign-off. Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "put_assignment",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), ("assignment_id" = ProgrammeAssignmentId, Path),
        WriteParams, MatchHeader),
    request_body = AssignmentInput,
    responses(
        (status = 201, description = "Assigned under the new id", body = AssignmentAnswer),
        (status = 200, description = "Unchanged, or a new version", body = AssignmentAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/programmes/{programme_id}/assignments/{assignment_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId, ProgrammeAssignmentId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, programme, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = assignments::stored(change.conn, change.caller, (programme, id))?;
        let standing = current.as_ref().filter(|one| !one.version.deleted);
        let before = standing.map(|one| one.version.number);
        match before {
            None => sent.require_absent()?,
            Some(before) => sent.put_precondition(before)?,
        }
        let input: AssignmentInput = sent.json()?;
        let answer = assignments::put(change, (programme, id), current, &input)?;
        match before {
            None => {
                let location = format!("/v1/clubs/{club}/programmes/{programme}/assignments/{id}");
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
