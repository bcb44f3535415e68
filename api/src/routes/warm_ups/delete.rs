//! `DELETE …/events/{event_id}/warm-up`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::{events, warm_ups, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Take the warm-up of a planned session back
///
/// Nothing is said of it any more, which is not that there was none; a tombstone is kept.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "delete_event_warm_up",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/events/{event_id}/warm-up")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        events::find(change.conn, change.caller, id)?;
        let tenant = change.tenant();
        let current = warm_ups::find(change.conn, tenant, id)?;
        conditions.require_match(current.version.number)?;
        warm_ups::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
