//! `GET …/programmes/{programme_id}/assignments/{assignment_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeAssignmentId, ProgrammeId};
use crate::services::programmes::assignments::{self, AssignmentAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadProgrammes;

/// Read an assignment
///
/// Who does which version of the programme, and what is different for her. The read of an athlete's is entered in the audit list before
/// it is answered.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "read_assignment",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), ("assignment_id" = ProgrammeAssignmentId, Path)),
    responses(
        (status = 200, description = "The assignment", body = AssignmentAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/programmes/{programme_id}/assignments/{assignment_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId, ProgrammeAssignmentId)>,
) -> Result<HttpResponse, Problem> {
    let (_, programme, id) = path.into_inner();
    let caller = scope.caller.clone();
    let stored = app
        .store
        .read(caller.tenant, move |conn| {
            let found = assignments::stored(conn, &caller, (programme, id))?;
            let found = found.filter(|one| !one.version.deleted);
            found.ok_or_else(Problem::not_found)
        })
        .await?;
    app.audit
        .record_shown(
            &app,
            &scope.caller,
            "read_assignment",
            stored.content.athlete_id,
        )
        .await?;
    let answer = AssignmentAnswer::shown_to(scope.caller.principal.role, stored)?;
    Ok(found(answer.version, &answer))
}
