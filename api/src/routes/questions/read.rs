//! `GET …/questions/{question_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, QuestionId};
use crate::services::as_of;
use crate::services::audit::Reading;
use crate::services::questions::{self, Beside, QuestionAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadQuestions;

/// Read a question
///
/// By athlete and guardian, by the strength coaches of her squads, and where something hurts by athletic trainers if her family has
/// consented. Staff read beside it the load of her last 14 days, what limits her today, and what to do where something hurts. The read is
/// entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Questions",
    operation_id = "read_question",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("question_id" = QuestionId, Path)),
    responses(
        (status = 200, description = "The question", body = QuestionAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/questions/{question_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, QuestionId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let (caller, clock) = (scope.caller.clone(), app.clock.now());
    let answer = as_of::read(&app, scope.caller.tenant, None, move |conn, as_of| {
        let question = questions::read(conn, &caller, id, clock)?;
        let mut answer = QuestionAnswer::of(question)?;
        if !caller.principal.role.is_family() {
            let (tenant, athlete) = (caller.tenant, answer.athlete_id);
            answer.beside = Some(Beside::read(conn, tenant, athlete, as_of)?);
        }
        Ok(answer)
    })
    .await?;
    let reading = Reading {
        athlete: answer.athlete_id,
        action: match questions::reads_pain_alone(&scope.caller) {
            true => "read_question_about_pain",
            false => "read_question",
        },
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(answer.version, &answer))
}
