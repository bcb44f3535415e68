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

type Needed = right::WriteSchedule;

/// Put a planned session
///
/// Stores an event under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "put_event",
    extensions(("x-roles" = json!(Needed::roles()))),
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
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let stored = events::current(change.conn, tenant, id)?;
        let written = match stored {
            Some(stored) if !stored.version.deleted => {
                let current = service::find(change.conn, change.caller, stored.content.event_id)?;
                let before = current.version.number;
                sent.put_precondition(before)?;
                let written = service::replace(change, current, &sent.json()?)?;
                sent.after_put(before, written.answer.version)?;
                return Reply::ok(written.answer.version, &written.answer);
            }
            Some(tombstone) => {
                sent.require_absent()?;
                service::replace(change, tombstone, &sent.json()?)?
            }
            None => {
                sent.require_absent()?;
                service::insert(change, id, &sent.json()?)?
            }
        };
        Reply::created(location(club, id), written.answer.version, &written.answer)
    })
    .await
}
