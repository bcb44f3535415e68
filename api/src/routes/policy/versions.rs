//! `GET …/policy/versions`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::adopt::PolicyAnswer;
use crate::store::{Known, policies};
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadPolicy;

/// A page of policy versions, the first version first.
#[derive(Debug, Serialize, ToSchema)]
pub struct PolicyPage {
    /// The versions.
    pub items: Vec<PolicyAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List the versions of the policy
///
/// Every version the club has had, none of them ever changed.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "list_policy_versions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = PolicyPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/versions")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page = PageRequest::<i32>::new(query.limit.as_deref(), query.after.as_deref(), "policy")?;
    let mut rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            policies::history(conn, scope.caller.tenant, Known::Now)
        })
        .await?;
    // A club has a few policies a year, and all of them are read for every figure.
    rows.retain(|row| page.after.is_none_or(|after| row.version > after));
    page.page(rows, |row| row.version)
        .try_map(PolicyAnswer::new)?
        .answer(&request)
}
