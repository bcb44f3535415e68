//! `GET …/erasures`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ErasureId};
use crate::services::erasure::ErasureEntry;
use crate::store::erasures;
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::EraseRecords;

/// Which page.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ErasuresQuery {
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of erasures, the first one first.
#[derive(Debug, Serialize, ToSchema)]
pub struct ErasuresPage {
    /// The erasures.
    pub items: Vec<ErasureEntry>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List erasures
///
/// The proof without the data: whose records were erased, by an id that means nothing any more, when, by whom and why, how many rows of
/// each table, and whether the rest of the work is done: the line in the file outside the database, and the bytes in the database itself.
#[utoipa::path(
    tag = "People",
    operation_id = "list_erasures",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ErasuresQuery),
    responses(
        (status = 200, description = "A page", body = ErasuresPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/erasures")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<ErasuresQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<ErasureId>::new(limit, after, String::new())?;
    let (after, fetch, tenant) = (page.after, page.fetch(), scope.caller.tenant);
    let rows = app
        .store
        .read(tenant, move |conn| {
            erasures::page(conn, tenant, after, fetch)
        })
        .await?;
    page.page(rows, |row| row.erasure_id)
        .map(ErasureEntry::from)
        .answer(&request)
}
