//! `GET …/roster/sources`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::RosterSourceAnswer;
use crate::store::roster_sources;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::WriteAthletes;

/// A page of roster sources, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct RosterSourcePage {
    /// The sources.
    pub items: Vec<RosterSourceAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List roster sources
#[utoipa::path(
    tag = "People",
    operation_id = "list_roster_sources",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = RosterSourcePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/roster/sources")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let (limit, after) = (query.limit.as_deref(), query.after.as_deref());
    let page = PageRequest::<RosterSourceId>::new(limit, after, "roster sources")?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            let rows = roster_sources::page(conn, tenant, after, fetch)?;
            let answers = rows.into_iter().map(RosterSourceAnswer::of);
            answers.collect::<Result<Vec<_>, Problem>>()
        })
        .await?;
    page.page(rows, |row| row.source_id).answer(&request)
}
