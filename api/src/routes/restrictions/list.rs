//! `GET …/restrictions`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestrictionId};
use crate::services::reach;
use crate::services::restrictions::RestrictionAnswer;
use crate::store::restrictions;
use crate::web::page::PageRequest;
use crate::web::params::AthleteParams;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadClinical;

/// A page of restrictions, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct RestrictionPage {
    /// The restrictions.
    pub items: Vec<RestrictionAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List restrictions
///
/// For athletic trainers alone. Each athlete whose records the page shows, and the one asked for, is entered
/// in the audit list before it is answered; so is a caller who is refused.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "list_restrictions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), AthleteParams),
    responses(
        (status = 200, description = "A page", body = RestrictionPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/restrictions")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<AthleteParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let athlete = query.0.athlete.as_deref().map(range::athlete).transpose()?;
    let page = PageRequest::<RestrictionId>::new(
        query.0.limit.as_deref(),
        query.0.after.as_deref(),
        format!("{athlete:?}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, athlete)?;
            let (tenant, who) = (caller.tenant, reached.who());
            Ok::<_, Problem>(restrictions::page(conn, tenant, who, after, fetch)?)
        })
        .await?;
    let page = page.page(rows, |row| row.content.restriction_id);
    let shown = page.items.iter().map(|row| row.content.athlete_id);
    let shown = shown.chain(athlete);
    app.audit
        .record_shown(&app, &scope.caller, "list_restrictions", shown)
        .await?;
    page.map(RestrictionAnswer::from).answer(&request)
}
