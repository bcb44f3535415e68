//! `GET …/athletes/{athlete_id}/programme`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::ToSpan;
use jiff::civil::Date;
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::programmes::assigned::{self, AssignedAnswer};
use crate::services::{as_of, reach, zones};
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;

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
}

/// Read what an athlete is to do
///
/// The sessions of the programmes that are assigned to her or to her squads, on their dates and with her changes. An item is marked with
/// each sign-off that it needs and that is not there; nothing here clears anybody. For who trains or treats her, for herself and her
/// guardians. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "read_assigned_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), AssignedParams),
    responses((status = 200, description = "What she is to do", body = AssignedAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/programme")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<AssignedParams>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let asked = query.0;
    let answer = as_of::read(&app, tenant, None, move |conn, as_of| {
        let found = reach::athlete(conn, &caller, athlete)?;
        let home = zones::home(conn, tenant, &found.content)?;
        let dates = dates(&asked, as_of.today(&home))?;
        assigned::read(conn, tenant, athlete, dates, as_of.known)
    })
    .await?;
    let reading = Reading {
        athlete,
        action: "read_assigned_programme",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
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
