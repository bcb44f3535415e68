//! `PATCH …/questions/{question_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, QuestionId};
use crate::services::questions::{self, QuestionAnswer, ReplyInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::AnswerQuestions;

/// Answer a question
///
/// A JSON Merge Patch (RFC 7396): a new reply closes the question, `is_open` closes it without one or opens it again, null takes the reply
/// back. The earlier version is kept. Who asked reads the reply with the question. No advice on pain: she stops that movement, and is
/// sent to a licensed clinician under local rules.
#[utoipa::path(
    tag = "Questions",
    operation_id = "patch_question",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("question_id" = QuestionId, Path), WriteParams, MatchHeader),
    request_body(content = ReplyInput, content_type = "application/merge-patch+json",
        example = json!({"reply": "Both legs, then rest."})),
    responses(
        (status = 200, description = "The question as it now is", body = QuestionAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/questions/{question_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, QuestionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = questions::find(change.conn, change.caller, id)?;
        patch.require_match(current.version.number)?;
        let input: ReplyInput = patch.merge_patch(&ReplyInput::of(&current.content))?;
        let answer = questions::reply(change, &current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
