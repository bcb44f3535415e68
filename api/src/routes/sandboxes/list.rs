//! `GET /v1/sandboxes`.

use actix_web::{get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ServiceScope, right};
use crate::error::Problem;
use crate::services::sandboxes::SandboxSummary;
use crate::web::refusals::ServiceRefusals;
use crate::web::reply::Reply;

type Needed = right::ManageClubs;

/// The sandboxes that are there: few enough for one page.
#[derive(Debug, Serialize, ToSchema)]
pub struct SandboxPage {
    /// The sandboxes, the oldest first.
    items: Vec<SandboxSummary>,
    /// Always null.
    next: Option<String>,
}

/// List sandboxes
///
/// Those of this process, without their tokens.
#[utoipa::path(
    tag = "Sandboxes",
    operation_id = "list_sandboxes",
    extensions(("x-roles" = json!(Needed::roles()))),
    responses((status = 200, description = "All of them", body = SandboxPage), ServiceRefusals)
)]
#[get("/v1/sandboxes")]
pub async fn list(app: web::Data<App>, _scope: ServiceScope<Needed>) -> Result<Reply, Problem> {
    let page = SandboxPage {
        items: app.sandboxes.list(app.clock.now()),
        next: None,
    };
    Reply::json(200, &page)
}
