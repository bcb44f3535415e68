//! `DELETE …/attendance/{attendance_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AttendanceId, ClubId};
use crate::services::{attendance, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Take attendance back
///
/// It stops counting; a tombstone is kept, and flags of closed weeks are judged again.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "delete_attendance",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("attendance_id" = AttendanceId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/attendance/{attendance_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AttendanceId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = attendance::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        attendance::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
