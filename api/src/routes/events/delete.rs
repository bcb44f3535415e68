//! `DELETE …/events/{event_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::{events, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Take a planned session back
///
/// For one that was entered by mistake: it is gone as if it had never been planned, and a tombstone
/// is kept. One that was called off gets the status cancelled instead.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "delete_event",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/events/{event_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = events::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        events::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
