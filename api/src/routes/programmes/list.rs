//! `GET …/programmes`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeId};
use crate::services::programmes::ProgrammeSummary;
use crate::store::programmes;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadProgrammes;

/// A page of programmes, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProgrammePage {
    /// The programmes.
    pub items: Vec<ProgrammeSummary>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List programmes
///
/// The club's programmes by name and length. They are about nobody.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "list_programmes",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = ProgrammePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/programmes")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<ProgrammeId>::new(limit, after, "programmes")?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            Ok::<_, Problem>(programmes::page(conn, tenant, after, fetch)?)
        })
        .await?;
    let page = page.page(rows, |row| row.programme_id);
    page.map(ProgrammeSummary::from).answer(&request)
}
