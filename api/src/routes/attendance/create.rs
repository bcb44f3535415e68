//! `POST …/attendance`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::attendance::{self, AttendanceAnswer, AttendanceInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Enter attendance
///
/// What the list says of one athlete at one event; there is one entry a pair, and another answer is its
/// next version. Measured minutes count before planned and reported ones. An absence answers for the
/// session; where the athlete reports it all the same, her report counts and both are shown, until a
/// coach confirms the absence.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "create_attendance",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = AttendanceInput,
    responses(
        (status = 201, description = "Entered", body = AttendanceAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged or as a new version", body = AttendanceAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/attendance")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: AttendanceInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = attendance::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/attendance/{}", answer.attendance_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
