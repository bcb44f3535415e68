//! `GET …/athletes/{athlete_id}/history`: what a clinician reads before a decision.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::tz::TimeZone;
use plimsoll_domain::TrialsBy;
use serde::Deserialize;
use utoipa::IntoParams;

use super::answer::HistoryAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem, ProblemBody};
use crate::ids::{AthleteId, ClubId};
use crate::pages::athlete_history::{csv, page, sheet};
use crate::pages::paper::Paper;
use crate::services::as_of;
use crate::services::audit::Reading;
use crate::services::history::{self, Wanted};
use crate::web::json::shorten_text;
use crate::web::query::{self, Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;
use crate::web::reply;
use crate::web::representation::{self, Representation};

type Needed = right::ReadHistory;

/// What a history may be read for.
const PURPOSES: [&str; 3] = ["history_before_clearance", "follow_up", "screening"];

/// Which days, and what for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct HistoryQuery {
    /// What for: history_before_clearance, follow_up or screening. It is kept in the audit list.
    #[param(value_type = String, required = true, example = "history_before_clearance")]
    purpose: Option<String>,
    /// First day; 26 weeks before the newest absence of seven days or more unless given, without one 26 weeks before the last day.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last day; 26 weeks after that absence unless given, and not later than yesterday.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// What of its trials a result of a test stands for: mean, unless best is asked for.
    #[param(value_type = Option<String>)]
    trials: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: with the arithmetic of the loads, which is the days they are made of with sessions and sources, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
    /// Of the PDF: a4, unless letter is asked for.
    #[param(value_type = Option<String>)]
    paper: Option<String>,
}

/// Athlete's history
///
/// Loads by week around an absence, what is not known of them, the load before the absence and what is back of it, ceilings since the
/// return, tests of both sides, flags. It describes what was logged and decides nothing. Where consent to tests is wanting they are left
/// out, and `not_included` says so. The read is entered in the audit list with its purpose before it is answered.
///
/// By `Accept` the same as a page to read and print on one sheet, as that sheet in PDF (where the program was built with it; without
/// the weeks one by one, which stand in its plot), or as CSV, one row an element of each list; each without `explain`.
#[utoipa::path(
    tag = "Tests",
    operation_id = "read_history",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), HistoryQuery),
    responses(
        (status = 200, description = "The history", content(
            (HistoryAnswer = "application/json"),
            (String = "text/csv"),
            (String = "text/html"),
            (String = "application/pdf"),
        )),
        (status = 406, description = "The history is not to be had as what `Accept` asks for", body = ProblemBody),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/history")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    request: HttpRequest,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<HistoryQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let purpose = query::one_of("?purpose", query.0.purpose.as_deref(), &PURPOSES)?;
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let wanted = query.0.wanted(athlete_id)?;
    let representation = match wanted.explain {
        true => Representation::json_alone(&request)?,
        false => Representation::of(&request)?,
    };
    let paper = representation::paper(query.0.paper.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let mut history = as_of::read(&app, tenant, asked, move |conn, as_of| {
        history::read(conn, &caller, &wanted, as_of)
    })
    .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: match (history.tests_withheld, history.pain_withheld) {
            (false, false) => "read_history",
            (true, false) => "read_history_without_tests",
            (false, true) => "read_history_without_pain",
            (true, true) => "read_history_without_tests_and_pain",
        },
        purpose: Some(purpose),
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    let explained = history.explained.take();
    let answer = HistoryAnswer::new(&history, explained, &scope.caller, purpose)?;
    represent(representation, &answer, &history.home, paper).await
}

/// The history as what was asked for.
async fn represent(
    representation: Representation,
    answer: &HistoryAnswer,
    home: &TimeZone,
    paper: Paper,
) -> Result<HttpResponse, Problem> {
    let mut head = reply::represented(representation == Representation::Page);
    let name = format!("history-{}", answer.span.to);
    Ok(match representation {
        Representation::Json => head.json(answer),
        Representation::Csv => reply::csv(head, &name, csv::write(answer)?),
        Representation::Page => head.body(page::write(answer, home)),
        Representation::Sheet => {
            reply::sheet(head, &name, sheet::sheet(answer, home), paper).await?
        }
    })
}

impl HistoryQuery {
    fn wanted(&self, athlete_id: AthleteId) -> Result<Wanted, Problem> {
        let date = |name, text: &Option<String>| {
            text.as_deref()
                .map(|text| range::date(name, text))
                .transpose()
        };
        Ok(Wanted {
            athlete_id,
            from: date("?from", &self.from)?,
            to: date("?to", &self.to)?,
            trials_by: trials(self.trials.as_deref())?,
            explain: range::explain(self.explain.as_deref())?,
        })
    }
}

fn trials(text: Option<&str>) -> Result<TrialsBy, Problem> {
    let text = text.unwrap_or(TrialsBy::Mean.code());
    TrialsBy::parse(text).ok_or_else(|| {
        let given = shorten_text(text);
        bad(FieldProblem::new("?trials", Code::UnknownValue, given).allowed("mean, best"))
    })
}
