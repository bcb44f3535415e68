//! `PATCH …/events/{event_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::events::{self, EventAnswer, EventInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Change a planned session
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out. A session that is
/// called off gets the status cancelled: nobody is expected any more, and reports of it are kept,
/// count, and carry the warning `event_cancelled`. The earlier version is kept, and flags of closed
/// weeks are judged again.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "patch_event",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path), WriteParams, MatchHeader),
    request_body(content = EventInput, content_type = "application/merge-patch+json",
        example = json!({"status": "cancelled"})),
    responses(
        (status = 200, description = "The event as it now is", body = EventAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/events/{event_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = events::find(change.conn, change.caller, id)?;
        patch.require_match(current.version.number)?;
        let input: EventInput = patch.merge_patch(&EventInput::of(&current.content)?)?;
        let written = events::replace(change, current, &input)?;
        Reply::ok(written.answer.version, &written.answer)
    })
    .await
}
