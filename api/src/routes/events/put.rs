//! `PUT …/events/{event_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::events::{self as service, EventAnswer, EventInput};
use crate::services::write;
use crate::store::events;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

/// Put a planned session
///
/// Stores an event under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "put_event",
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path), WriteParams, MatchHeader),
    request_body = EventInput,
    responses(
        (status = 201, description = "Planned under the new id", body = EventAnswer),
        (status = 200, description = "Unchanged, or a new version", body = EventAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/events/{event_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<right::WriteSchedule>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let input: EventInput = request.json()?;
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let stored = events::current(change.conn, tenant, id)?;
        let Some(stored) = stored else {
            conditions.require_absent()?;
            let written = service::insert(change, id, &input)?;
            let version = written.answer.version;
            return Reply::created(location(club, id), version, &written.answer);
        };
        if stored.version.deleted {
            conditions.require_absent()?;
            let written = service::replace(change, stored, &input)?;
            let version = written.answer.version;
            return Reply::created(location(club, id), version, &written.answer);
        }
        let current = service::find(change.conn, change.caller, id)?;
        let before = current.version.number;
        conditions.put_precondition(before)?;
        let written = service::replace(change, current, &input)?;
        conditions.after_put(before, written.answer.version)?;
        Reply::ok(written.answer.version, &written.answer)
    })
    .await
}
