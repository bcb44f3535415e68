//! `PUT …/clock`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::sandboxes::{ClockAnswer, ClockInput, move_clock};
use crate::web::params::WriteParams;
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::MoveClock;

/// Move a sandbox's clock forward
///
/// By 52 weeks at once and 520 in all. What becomes due on the way is done in order, each at its time: weeks are closed, look-aheads
/// made, what retention terms end is erased. Notices are written and never sent. No session is invented: who wants the weeks to be
/// full logs them. Needs no `If-Match`, since it never goes back. A live club has no such clock: 404.
#[utoipa::path(
    tag = "Sandboxes",
    operation_id = "put_clock",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams),
    request_body = ClockInput,
    responses((status = 200, description = "The clock as it now stands", body = ClockAnswer), WriteRefusals)
)]
#[put("/v1/clubs/{club_id}/clock")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    if !app.is_sandbox() {
        return Err(Problem::not_found());
    }
    let answer = move_clock(&app, scope.caller.tenant, request.json()?, request.dry_run).await?;
    Reply::json(200, &answer)
}
