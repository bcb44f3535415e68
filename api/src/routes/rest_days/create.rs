//! `POST …/rest-days`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::rest_days::{self, RestDayAnswer, RestDayInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteDays;

/// Declare a day of rest
///
/// A day that is declared already is answered 200 with the entry that is there. A report on that day
/// counts all the same.
#[utoipa::path(
    tag = "Days",
    operation_id = "create_rest_day",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = RestDayInput,
    responses(
        (status = 201, description = "Declared", body = RestDayAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged", body = RestDayAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/rest-days")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: RestDayInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let (answer, new) = rest_days::enter(change, &input)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/rest-days/{}", answer.rest_day_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
