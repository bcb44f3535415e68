//! `GET …/events/{event_id}/warm-up`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId};
use crate::services::events;
use crate::services::warm_ups::{self, EventWarmUpAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSchedule;

/// Read the warm-up of a planned session
///
/// The current version; 404 where nobody said anything of it, which is not that there was none.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "read_event_warm_up",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("event_id" = EventId, Path)),
    responses(
        (status = 200, description = "The warm-up", body = EventWarmUpAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/events/{event_id}/warm-up")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, EventId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller;
    let answer = app
        .store
        .read(caller.tenant, move |conn| {
            events::find(conn, &caller, id)?;
            EventWarmUpAnswer::new(&warm_ups::find(conn, caller.tenant, id)?)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
