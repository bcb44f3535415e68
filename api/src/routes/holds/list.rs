//! `GET …/athletes/{athlete_id}/holds`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, HoldId};
use crate::services::audit::Reading;
use crate::services::retention::holds::HoldAnswer;
use crate::services::{reach, zones};
use crate::store::retention::holds;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::SetRetention;

/// A page of holds, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct HoldPage {
    /// The holds.
    pub items: Vec<HoldAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List an athlete's holds
///
/// Those that were not lifted, also where their last day has passed. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Retention",
    operation_id = "list_holds",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = HoldPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/holds")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<HoldId>::new(limit, after, athlete.to_string())?;
    let (after, fetch, tenant) = (page.after, page.fetch(), scope.caller.tenant);
    let now = app.clock.now();
    let (rows, today) = app
        .store
        .read(tenant, move |conn| {
            reach::athlete_of_club(conn, tenant, athlete)?;
            let rows = holds::page(conn, tenant, athlete, after, fetch)?;
            Ok::<_, Problem>((rows, zones::club_date(conn, tenant, now)?))
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "list_holds",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    page.page(rows, |row| row.content.hold_id)
        .map(|row| HoldAnswer::new(row, today))
        .answer(&request)
}
