//! `GET …/licences`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, LicenceId};
use crate::services::licences::LicenceAnswer;
use crate::store::licences;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLicences;

/// A page of licences, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct LicencePage {
    /// The licences.
    pub items: Vec<LicenceAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List the licences on file
///
/// Expired ones too.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "list_licences",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = LicencePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/licences")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<LicenceId>::new(limit, after, "")?;
    let (after, fetch, tenant) = (page.after, page.fetch(), scope.caller.tenant);
    let rows = app
        .store
        .read(tenant, move |conn| {
            licences::page(conn, tenant, after, fetch).map_err(Problem::from)
        })
        .await?;
    page.page(rows, |row| row.content.licence_id)
        .map(LicenceAnswer::from)
        .answer(&request)
}
