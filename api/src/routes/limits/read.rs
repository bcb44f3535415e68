//! `GET /v1/limits`.

use actix_web::{get, web};

use super::answer::LimitsAnswer;
use crate::app::App;
use crate::auth::tenant::{ServiceScope, right};
use crate::error::Problem;
use crate::web::refusals::ServiceRefusals;
use crate::web::reply::Reply;

type Needed = right::ReadLimits;

/// What callers have to keep to
///
/// Sizes, numbers, times and quotas as they are enforced by this program with its settings, so that a client can read them once
/// when it starts. For any token that is accepted, whatever its club and role. What a single field may hold stands in the
/// schemas, and in `allowed` of a refusal.
#[utoipa::path(
    tag = "Service",
    operation_id = "read_limits",
    extensions(("x-roles" = json!(Needed::roles()))),
    responses((status = 200, description = "The limits", body = LimitsAnswer), ServiceRefusals)
)]
#[get("/v1/limits")]
pub async fn read(app: web::Data<App>, _scope: ServiceScope<Needed>) -> Result<Reply, Problem> {
    Reply::json(200, &LimitsAnswer::of(&app))
}
