//! `POST …/absences`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::absences::{self, AbsenceAnswer, AbsenceInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteDays;

/// Enter an absence
///
/// The days are neither unlogged nor assumed to be rest. The same span with the same category again is
/// answered 200 with the entry that is there.
#[utoipa::path(
    tag = "Days",
    operation_id = "create_absence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = AbsenceInput,
    responses(
        (status = 201, description = "Entered", body = AbsenceAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged", body = AbsenceAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/absences")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: AbsenceInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = absences::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/absences/{}", answer.absence_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
