//! `GET …/notice-endpoints`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, NoticeEndpointId};
use crate::services::notice_endpoints::NoticeEndpointAnswer;
use crate::store::notices::endpoints;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ApproveRecipients;

/// A page of notice endpoints, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeEndpointPage {
    /// The endpoints.
    pub items: Vec<NoticeEndpointAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List notice endpoints
#[utoipa::path(
    tag = "Notices",
    operation_id = "list_notice_endpoints",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = NoticeEndpointPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/notice-endpoints")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page = PageRequest::<NoticeEndpointId>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        "notice-endpoints",
    )?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            endpoints::page(conn, tenant, after, fetch)
        })
        .await?;
    page.page(rows, |row| row.endpoint_id)
        .map(NoticeEndpointAnswer::from)
        .answer(&request)
}
