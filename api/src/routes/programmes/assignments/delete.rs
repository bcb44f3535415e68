//! `DELETE …/programmes/{programme_id}/assignments/{assignment_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeAssignmentId, ProgrammeId};
use crate::services::programmes::assignments;
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteProgrammes;

/// Take an assignment back
///
/// As if it had never been; one that is to end on a day is given that day instead. A tombstone is kept.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "delete_assignment",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), ("assignment_id" = ProgrammeAssignmentId, Path),
        WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/programmes/{programme_id}/assignments/{assignment_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId, ProgrammeAssignmentId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, programme, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = assignments::stored(change.conn, change.caller, (programme, id))?;
        let current = current.filter(|one| !one.version.deleted);
        let current = current.ok_or_else(Problem::not_found)?;
        conditions.require_match(current.version.number)?;
        assignments::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
