//! `GET …/policy/drafts`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PolicyDraftId};
use crate::services::policy::drafts::PolicyDraftAnswer;
use crate::store::policy_drafts;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ApprovePolicy;

/// A page of drafts, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct PolicyDraftPage {
    /// The drafts.
    pub items: Vec<PolicyDraftAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List drafts of the policy
///
/// Those that nobody has approved yet.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "list_policy_drafts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = PolicyDraftPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/drafts")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page = PageRequest::<PolicyDraftId>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        "policy-drafts",
    )?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            policy_drafts::page(conn, tenant, after, fetch)
        })
        .await?;
    page.page(rows, |row| row.draft_id)
        .try_map(PolicyDraftAnswer::new)?
        .answer(&request)
}
