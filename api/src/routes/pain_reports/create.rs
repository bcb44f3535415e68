//! `POST …/pain-reports`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::pain_reports::{self, PainReportAnswer, PainReportInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePain;

/// Say whether something hurts
///
/// Whether, and where; no diagnosis. Athlete and guardian read it, and athletic trainers where her family has consented; coaches never
/// do. It is not an emergency channel: nobody is called. The same of the same day again is answered 200 with the report that is there.
#[utoipa::path(
    tag = "Pain reports",
    operation_id = "create_pain_report",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = PainReportInput,
    responses(
        (status = 201, description = "Entered", body = PainReportAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged", body = PainReportAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/pain-reports")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: PainReportInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = pain_reports::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/pain-reports/{}", answer.pain_report_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
