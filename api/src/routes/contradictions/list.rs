//! `GET …/contradictions`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Span;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::contradictions::{self, Asked, Contradiction, Place};
use crate::services::reach;
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Which sessions are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ContradictionQuery {
    /// Of this athlete.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// First load date; 27 days before `to` unless given.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last load date; today (UTC) unless given.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of sessions whose sources do not agree, by load date, athlete and first report.
#[derive(Debug, Serialize, ToSchema)]
pub struct ContradictionPage {
    /// The sessions.
    pub items: Vec<Contradiction>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List sessions whose sources do not agree
///
/// Minutes that differ, reports of athletes who are listed as absent, proposed duplicates, sessions
/// that overlap, and reports of events that were cancelled or moved to another date: what counts, what
/// each source says, and the range left open. Athletic trainers are also told what was reported against a
/// restriction or in an absence; it counts. Within the caller's reach, without notes. Asked for one athlete,
/// the read is entered in the audit list first.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "list_contradictions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ContradictionQuery),
    responses(
        (status = 200, description = "A page", body = ContradictionPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/contradictions")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<ContradictionQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let today = TimeZone::UTC.to_datetime(app.clock.now()).date();
    let (from, to) = range::dates(query.from.as_deref(), query.to.as_deref(), |to| {
        let to = to.unwrap_or(today);
        (to.saturating_sub(Span::new().days(27)), to)
    })?;
    let page = PageRequest::<Place>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        format!("{athlete:?} {from} {to}"),
    )?;
    let (after, caller) = (page.after, scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, athlete)?;
            let asked = Asked {
                from,
                to,
                after,
                against_restrictions: caller.principal.may(Scope::ReadClinical),
            };
            contradictions::list(conn, caller.tenant, &reached, asked)
        })
        .await?;
    if let Some(athlete) = athlete {
        let reading = Reading {
            athlete,
            action: "list_contradictions",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |(place, _)| *place)
        .map(|(_, contradiction)| contradiction)
        .answer(&request)
}
