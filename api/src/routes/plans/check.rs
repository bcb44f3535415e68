//! `POST …/plan-checks`.

use std::sync::Arc;

use actix_web::http::header;
use actix_web::web::Bytes;
use actix_web::{HttpRequest, HttpResponse, post, web};
use futures_util::{StreamExt, stream};
use serde::Deserialize;
use utoipa::ToSchema;

use super::answer::{PlanCheckAnswer, PlanChecks};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::pages::paper::Paper;
use crate::pages::plan_check;
use crate::services::fields::{self, Faults};
use crate::services::plans::history::PlanAthlete;
use crate::services::plans::input::{HistoryInput, LimitInput, PlanInput};
use crate::services::plans::stored::StoredPlan;
use crate::services::plans::{self, Asked, Given, ReadyPlan};
use crate::web::refusals::QuestionRefusals;
use crate::web::reply::{self, Reply};
use crate::web::representation;
use crate::web::write::WriteRequest;

type Needed = right::CheckPlans;

const JSON: &str = "application/json";
const LINES: &str = "application/x-ndjson";
const PAGE: &str = "text/html";

/// A plan, and what it follows: exactly one of a typed history, an athlete and a squad.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "plan": {"first_week": "2026-W32", "weeks": 1, "sessions": [
        {"date": "2026-08-03", "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 5},
        {"date": "2026-08-05", "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 5}],
        "calendar": [{"date": "2026-08-08", "setting": "club", "kind": "game", "minutes": 60, "intended_rpe": 7}]},
    "history": {"week_loads_au": [550, 550, 550, 550], "birth_date": "2010-03-14"}}))]
pub struct PlanCheckInput {
    /// The plan.
    plan: PlanInput,
    /// A history that is typed.
    history: Option<HistoryInput>,
    /// The athlete whose logged history counts. The plan begins in the week after the one that runs, or earlier.
    #[schema(value_type = Option<AthleteId>)]
    athlete_id: Option<String>,
    /// The squad, of which each member of today has a check of her own.
    #[schema(value_type = Option<SquadId>)]
    squad_id: Option<String>,
    /// A limit on the ratio instead of the policy's.
    limit: Option<LimitInput>,
    /// What had been received by this instant, with the policy, roster and programmes of then.
    #[schema(format = DateTime)]
    as_of: Option<String>,
    /// Of the PDF: a4, unless letter is asked for.
    paper: Option<String>,
}

/// Check a plan
///
/// Judges each planned week by the club's rules as if it were done, after a typed history or after what is logged, and says which weeks
/// a point of effort more or less would put over the limit. Where sessions say them, as those of a stored programme, the landings and the
/// neuromuscular warm-up of each week are told too. Nothing is stored and nobody is told. Of a squad it has one check an athlete, each after
/// her own history and with the changes of her own assignment of the programme, as NDJSON one a line, each made when the one before has
/// left. By `Accept` also as a page to read and print, or, where the program was built with it, as PDF with all that is on the page. For coaches alone: athletes and guardians never see limits, and a plan within them shows nobody to be safe. Where
/// an athlete's history is read, that is entered in the audit list first.
#[utoipa::path(
    tag = "Plans",
    operation_id = "check_plan",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body = PlanCheckInput,
    responses(
        (status = 200, description = "One check for each athlete", content(
            (PlanChecks = "application/json"),
            (PlanCheckAnswer = "application/x-ndjson"),
            (String = "text/html"),
            (String = "application/pdf"),
        )),
        (status = 406, description = "No such representation", body = crate::error::ProblemBody, content_type = "application/problem+json"),
        QuestionRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/plan-checks")]
pub async fn check(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    http: HttpRequest,
    request: WriteRequest,
) -> Result<HttpResponse, Problem> {
    let representation = representation::preferred(&http, &[JSON, LINES, PAGE])?;
    let input: PlanCheckInput = request.json()?;
    let named = (&input.plan, input.as_of.as_deref());
    let stored = StoredPlan::read(&app, &scope.caller, named).await?;
    let mut faults = Faults::default();
    let asked = Asked::check(input.given(stored.as_ref()), &mut faults);
    let paper = fields::optional("/paper", input.paper.as_deref(), paper);
    let paper = faults.take(paper);
    let (asked, paper) = faults.settle(asked.zip(paper))?;
    let ready = plans::ready(&app, &scope.caller, asked, "check_plan").await?;
    if representation == LINES {
        return Ok(lines(ready));
    }
    let items = plans::worked_out(move || {
        let athletes = ready.athletes.iter();
        let items = athletes.map(|athlete| PlanCheckAnswer::of(&ready, athlete));
        items.collect::<Result<Vec<_>, _>>()
    });
    let items = items.await?;
    let mut head = reply::represented(representation == PAGE);
    Ok(match representation {
        JSON => head.json(PlanChecks { items }),
        PAGE => head.body(plan_check::write(&items)),
        _ => {
            let sheet = plan_check::sheet(&items);
            reply::sheet(head, "plan-check", sheet, paper.unwrap_or_default()).await?
        }
    })
}

fn paper(pointer: &str, given: Option<&str>) -> Result<Paper, FieldProblem> {
    let all = || "a4, letter".to_owned();
    fields::coded(pointer, given, Paper::named, all)
}

impl PlanCheckInput {
    fn given<'a>(&'a self, stored: Option<&'a StoredPlan>) -> Given<'a> {
        Given {
            plan: &self.plan,
            stored,
            history: self.history.as_ref(),
            athlete_id: self.athlete_id.as_deref(),
            squad_id: self.squad_id.as_deref(),
            limit: self.limit.as_ref(),
            as_of: self.as_of.as_deref(),
        }
    }
}

/// One check a line, each made when the one before has left. What goes wrong with one is a problem as its line.
fn lines(mut ready: ReadyPlan) -> HttpResponse {
    let athletes = std::mem::take(&mut ready.athletes);
    let ready = Arc::new(ready);
    let lines = stream::iter(athletes).then(move |athlete| line(Arc::clone(&ready), athlete));
    HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, LINES))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .streaming(lines)
}

async fn line(ready: Arc<ReadyPlan>, athlete: PlanAthlete) -> Result<Bytes, Problem> {
    let made = move || Reply::lines(&[PlanCheckAnswer::of(&ready, &athlete)?]);
    let made = plans::worked_out(made).await;
    let reply = made.or_else(|problem| Reply::lines(&[problem.body()]))?;
    Ok(Bytes::from(reply.body))
}
