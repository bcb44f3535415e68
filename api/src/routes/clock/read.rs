//! `GET …/clock`.

use actix_web::{get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::sandboxes::{ClockAnswer, read_clock};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::Reply;

type Needed = right::ReadClub;

/// What a sandbox's clock shows
///
/// It stands still until it is moved. A live club has no such clock: 404.
#[utoipa::path(
    tag = "Sandboxes",
    operation_id = "read_clock",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses((status = 200, description = "The clock", body = ClockAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/clock")]
pub async fn read(
    app: web::Data<App>,
    _scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<Reply, Problem> {
    Reply::json(200, &read_clock(&app)?)
}
