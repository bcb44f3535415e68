//! `POST …/tests`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::test_results::{self as service, TestResultAnswer, TestResultInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteTests;

/// Enter the result of a test
///
/// The trials of one test on one side on one day. Who only measures reads no result but her own; what she enters is answered. The same
/// content again is answered 200 with the result that is there. Of two results of one test, side and day the newest counts.
#[utoipa::path(
    tag = "Tests",
    operation_id = "create_test_result",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = TestResultInput,
    responses(
        (status = 201, description = "Entered", body = TestResultAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged", body = TestResultAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/tests")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: TestResultInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = service::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = super::location(club, answer.test_result_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
