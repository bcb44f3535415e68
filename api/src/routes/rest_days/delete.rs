//! `DELETE …/rest-days/{rest_day_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestDayId};
use crate::services::{rest_days, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteDays;

/// Take a day of rest back
///
/// It stops counting; a tombstone is kept, and flags of closed weeks are judged again.
#[utoipa::path(
    tag = "Days",
    operation_id = "delete_rest_day",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("rest_day_id" = RestDayId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/rest-days/{rest_day_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestDayId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = rest_days::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        rest_days::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
