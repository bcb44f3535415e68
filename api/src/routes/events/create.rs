//! `POST …/events`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::events::{self, EventAnswer, EventInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Plan a session
///
/// Everybody invited, by squad on the event's date or by name, is expected. From the event's end on a
/// session neither reported nor declared absent is unlogged, and widens the bounds of every figure it
/// reaches. The same content under the same `external_id` again is answered 200 and changes nothing;
/// other content is a new version.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "create_event",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = EventInput,
    responses(
        (status = 201, description = "Planned", body = EventAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged or as a new version", body = EventAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/events")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: EventInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let written = events::create(change, &input)?;
        let (answer, version) = (&written.answer, written.answer.version);
        if written.created {
            return Reply::created(location(club, answer.event_id), version, answer);
        }
        Reply::ok(version, answer)
    })
    .await
}
