//! `GET …/athletes/{athlete_id}/programme`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem, ProblemBody};
use crate::ids::{AthleteId, ClubId};
use crate::pages::paper::Paper;
use crate::pages::week_sheet::{Beside, page, sheet};
use crate::services::audit::Reading;
use crate::services::programmes::assigned::{self, AssignedAnswer};
use crate::services::{as_of, reach, zones};
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;
use crate::web::reply;
use crate::web::representation::{self, Representation};

type Needed = right::ReadAssigned;

/// Most days that one call answers: those of the longest programme.
const MOST_DAYS: usize = 420;

/// Which days.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AssignedParams {
    /// First date; today unless given.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last date, at most 420 days after; the seventh day unless given.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// Of the PDF: a4, unless letter is asked for.
    #[param(value_type = Option<String>)]
    paper: Option<String>,
}

/// Read what an athlete is to do
///
/// The sessions of the programmes that are assigned to her or to her squads, on their dates and with her changes. An item is marked with
/// each sign-off that it needs and that is not there; nothing here clears anybody. For who trains or treats her, for herself and her
/// guardians. The read is entered in the audit list before it is answered.
///
/// By `Accept` the same as a week sheet: a page to print, to tick and to write on, or that sheet in PDF (where the program was built with
/// it). On it stand how each exercise is done, the club's film of it as a link and as a QR code, and what ends a session; what nobody
/// has said is left out.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "read_assigned_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), AssignedParams),
    responses(
        (status = 200, description = "What she is to do", content(
            (AssignedAnswer = "application/json"),
            (String = "text/html"),
            (String = "application/pdf"),
        )),
        (status = 406, description = "It is not to be had as what `Accept` asks for", body = ProblemBody),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/programme")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    request: HttpRequest,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<AssignedParams>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let asked = query.0;
    let representation = Representation::printed(&request)?;
    let paper = representation::paper(asked.paper.as_deref())?;
    let (answer, beside) = as_of::read(&app, tenant, None, move |conn, as_of| {
        let found = reach::athlete(conn, &caller, athlete)?;
        let home = zones::home(conn, tenant, &found.content)?;
        let dates = dates(&asked, as_of.today(&home))?;
        let answer = assigned::read(conn, tenant, athlete, dates, as_of.known)?;
        let beside = Beside {
            display_name: found.content.display_name,
            as_of: as_of.at(),
            zone: home,
        };
        Ok((answer, beside))
    })
    .await?;
    let reading = Reading {
        athlete,
        action: "read_assigned_programme",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    represent(representation, &answer, &beside, paper).await
}

/// The answer as what was asked for; a file is not offered.
async fn represent(
    representation: Representation,
    answer: &AssignedAnswer,
    beside: &Beside,
    paper: Paper,
) -> Result<HttpResponse, Problem> {
    let mut head = reply::represented(representation == Representation::Page);
    let name = format!("week-sheet-{}", answer.from);
    Ok(match representation {
        Representation::Json | Representation::Csv => head.json(answer),
        Representation::Page => head.body(page::write(answer, beside)),
        Representation::Sheet => {
            reply::sheet(head, &name, sheet::sheet(answer, beside), paper).await?
        }
    })
}

fn dates(asked: &AssignedParams, today: Date) -> Result<(Date, Date), Problem> {
    let (from, to) = (asked.from.as_deref(), asked.to.as_deref());
    let week = |first: Date| first.saturating_add(6.days());
    let first = from.map(|text| range::date("?from", text)).transpose()?;
    let (from, to) = range::dates(from, to, |to| match to {
        Some(to) => (today.min(to), to),
        None => (today, week(first.unwrap_or(today))),
    })?;
    if range::length(from, to) > MOST_DAYS {
        let fault = FieldProblem::new("?from", Code::RangeTooLong, from.to_string());
        return Err(bad(fault.allowed(format!("at most {MOST_DAYS} days"))));
    }
    Ok((from, to))
}
