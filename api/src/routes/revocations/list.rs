//! `GET …/revocations`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use super::answer::RevocationAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RevocationId};
use crate::store::revocations;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::RevokeTokens;

/// A page of revocations, lifted ones included, the oldest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct RevocationPage {
    /// The revocations.
    pub items: Vec<RevocationAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List revocations
///
/// What is refused in this club, and what was.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "list_revocations",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses((status = 200, description = "A page", body = RevocationPage), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/revocations")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page = PageRequest::<RevocationId>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        "revocations",
    )?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            revocations::page(conn, tenant, after, fetch)
        })
        .await?;
    let page = page.page(rows, |row| row.revocation_id);
    page.try_map(|row| Ok(RevocationAnswer::from(row)))?
        .answer(&request)
}
