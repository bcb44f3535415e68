//! `DELETE /v1/sandboxes/{sandbox_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ServiceScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::web::params::WriteParams;
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageClubs;

/// Remove a sandbox
///
/// With its files; its tokens are good for nothing from now on.
#[utoipa::path(
    tag = "Sandboxes",
    operation_id = "delete_sandbox",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("sandbox_id" = ClubId, Path), WriteParams),
    responses((status = 204, description = "Removed"), WriteRefusals)
)]
#[delete("/v1/sandboxes/{sandbox_id}")]
pub async fn remove(
    app: web::Data<App>,
    _scope: ServiceScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let now = app.clock.now();
    app.sandboxes
        .remove(path.into_inner(), now, request.dry_run)?;
    Ok(Reply::empty())
}
