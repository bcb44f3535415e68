//! `PUT …/events/{event_id}/warm-up`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::warm_ups::{self, EventWarmUpAnswer, WarmUpBody};
use crate::services::{events, write};
use crate::store::event_warm_ups;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSchedule;

/// Put the warm-up of a planned session
///
/// The neuromuscular warm-up as it was held: minutes, what it held, and whether feedback on technique was given; 0 minutes where there was
/// none. Of a session without one nothing is known. Who was there is told by the attendance list and by reports, and stands in
/// `read_neuromuscular_dose`. Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "put_event_warm_up",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path), WriteParams, MatchHeader),
    request_body = WarmUpBody,
    responses(
        (status = 201, description = "Stored", body = EventWarmUpAnswer),
        (status = 200, description = "Unchanged, or a new version", body = EventWarmUpAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/events/{event_id}/warm-up")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let event = events::find(change.conn, change.caller, id)?.content;
        let current = event_warm_ups::current(change.conn, change.tenant(), id)?;
        let standing = current.as_ref().filter(|current| !current.version.deleted);
        let before = standing.map(|current| current.version.number);
        match before {
            None => sent.require_absent()?,
            Some(version) => sent.put_precondition(version)?,
        }
        let answer = warm_ups::put(change, &event, current, &sent.json()?)?;
        match before {
            None => {
                let location = format!("/v1/clubs/{club}/events/{id}/warm-up");
                Reply::created(location, answer.version, &answer)
            }
            Some(before) => {
                sent.after_put(before, answer.version)?;
                Reply::ok(answer.version, &answer)
            }
        }
    })
    .await
}
