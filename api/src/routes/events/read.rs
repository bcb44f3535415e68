//! `GET …/events/{event_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::events::{self, EventAnswer};
use crate::services::reach;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSchedule;

/// Read a planned session
///
/// The current version, where it invites one of the caller's squads or anybody within reach.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "read_event",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path)),
    responses(
        (status = 200, description = "The event", body = EventAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/events/{event_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let answer = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let event = events::find(conn, &scope.caller, id)?;
            EventAnswer::new(event, &reach::of(conn, &scope.caller)?)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
