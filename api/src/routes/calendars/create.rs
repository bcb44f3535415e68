//! `POST …/calendars`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::calendars::{self, CalendarAnswer, CalendarInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageCalendars;

/// Set up a calendar
///
/// Its rules say what its events stand for. With `feed_url` its text is fetched at once and then every hour; without, it is sent by
/// `PUT`. An event that no rule names is listed at `…/unmapped`, and gives no session.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "create_calendar",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = CalendarInput,
    responses(
        (status = 201, description = "Set up", body = CalendarAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/calendars")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: CalendarInput = request.json()?;
    let reach = app.config.webhook_reach();
    write::run(&app, scope.caller, &request, move |change| {
        let id = change.new_id();
        let answer = calendars::create(change, id, &input, reach)?;
        Reply::created(location(club, id), answer.version, &answer)
    })
    .await
}
