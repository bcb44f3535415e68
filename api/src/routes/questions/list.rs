//! `GET …/questions`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, QuestionId};
use crate::services::questions::{self, QuestionAnswer};
use crate::store::questions as stored;
use crate::web::json::shorten_text;
use crate::web::page::PageRequest;
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadQuestions;

/// Which questions are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct QuestionParams {
    /// About this athlete; about everybody within reach unless given.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// true: those that wait for somebody; false: the others; all unless given.
    #[param(value_type = Option<bool>)]
    open: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of questions, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuestionPage {
    /// The entries.
    pub items: Vec<QuestionAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List questions
///
/// To athletes and guardians their own, to strength coaches those about athletes of their squads, to athletic trainers those where
/// something hurts and her family has consented. The read of each athlete shown, or of the one asked for, is entered in the audit list
/// before it is answered.
#[utoipa::path(
    tag = "Questions",
    operation_id = "list_questions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), QuestionParams),
    responses(
        (status = 200, description = "A page", body = QuestionPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/questions")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<QuestionParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let open = query.open.as_deref().map(yes_or_no).transpose()?;
    let (limit, after) = (query.limit.as_deref(), query.after.as_deref());
    let page = PageRequest::<QuestionId>::new(limit, after, format!("{athlete:?} {open:?}"))?;
    let (after, fetch) = (page.after, page.fetch());
    let (caller, clock) = (scope.caller.clone(), app.clock.now());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let (reached, filter) = questions::listed(conn, &caller, (athlete, open), clock)?;
            let (tenant, who) = (caller.tenant, reached.who());
            Ok::<_, Problem>(stored::page(conn, tenant, who, filter, after, fetch)?)
        })
        .await?;
    let page = page.page(rows, |row| row.content.question_id);
    let shown: Vec<AthleteId> = page
        .items
        .iter()
        .map(|row| row.content.athlete_id)
        .collect();
    let action = match questions::reads_pain_alone(&scope.caller) {
        true => "list_questions_about_pain",
        false => "list_questions",
    };
    app.audit
        .record_shown(
            &app,
            &scope.caller,
            action,
            shown.into_iter().chain(athlete),
        )
        .await?;
    page.try_map(QuestionAnswer::of)?.answer(&request)
}

fn yes_or_no(text: &str) -> Result<bool, Problem> {
    text.parse().map_err(|_| {
        let fault = FieldProblem::new("?open", Code::UnknownValue, shorten_text(text));
        bad(fault.allowed("true, false"))
    })
}
