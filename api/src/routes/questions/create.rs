//! `POST …/athletes/{athlete_id}/questions`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::questions::{self, QuestionAnswer, QuestionInput};
use crate::services::{reach, write};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::AskQuestions;

/// Ask a question
///
/// About a session that she has logged or is expected at, or an item of what she is to do. It reaches the strength coaches of her squads,
/// in their lists; where something hurts also athletic trainers, if her family has consented to what is said about pain. It is not an
/// emergency channel: nobody is called, and the service itself answers nothing.
#[utoipa::path(
    tag = "Questions",
    operation_id = "create_question",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = QuestionInput,
    responses(
        (status = 201, description = "Asked", body = QuestionAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/questions")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, athlete) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        // What is out of reach says nothing about the body.
        reach::athlete(change.conn, change.caller, athlete)?;
        let input: QuestionInput = sent.json()?;
        let answer = questions::ask(change, athlete, &input)?;
        let location = format!("/v1/clubs/{club}/questions/{}", answer.question_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
