//! `POST /v1/sandboxes`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ServiceScope, right};
use crate::error::Problem;
use crate::services::sandboxes::{self as service, SandboxAnswer, SandboxInput};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageClubs;

/// Make a sandbox
///
/// A club of invented people with 26 weeks of sessions, on a database of its own, with a clock that stands still until it is moved
/// (`PUT …/clock`) and a token a role. Every call under `/v1/clubs/{club_id}` works in it as in a live club, and its answers have the
/// field `Sandbox: true`. Its tokens are good for it alone, and no other token is good for it. Nothing is sent or fetched.
///
/// The same seed and date make the same club, ids included, and the same calls in the same order the same answers; so there is one
/// at a time. Off unless the settings allow it. It ends after 7 days, when it is removed, or with the service. Its answer is kept
/// for an `Idempotency-Key` as long as the sandbox is.
#[utoipa::path(
    tag = "Sandboxes",
    operation_id = "create_sandbox",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(WriteParams, KeyHeader),
    request_body = Option<SandboxInput>,
    responses(
        (status = 201, description = "Made", body = SandboxAnswer,
            headers(("Location", description = "Where its club is"))),
        WriteRefusals,
    )
)]
#[post("/v1/sandboxes")]
pub async fn create(
    app: web::Data<App>,
    scope: ServiceScope<Needed>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    service::create(&app, &scope.principal, &request).await
}
