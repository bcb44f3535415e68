//! `PATCH …/calendars/{calendar_id}`.

use actix_web::{HttpRequest, patch, web};

use super::put::CalendarQuery;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::{self, CalendarAnswer, CalendarInput, turn};
use crate::services::write;
use crate::web::body;
use crate::web::params::MatchHeader;
use crate::web::query::Query;
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageCalendars;

/// Change a calendar
///
/// A JSON Merge Patch (RFC 7396). By other rules or another zone its text is read again at once; what the rules no longer name is taken
/// back. Another feed is fetched at once, and with `confirm_large_removal=true` so is one whose text was refused as too short.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "patch_calendar",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("calendar_id" = CalendarId, Path), CalendarQuery, MatchHeader),
    request_body(content = CalendarInput, content_type = "application/merge-patch+json",
        example = json!({"name": "Sports hall, court 2"})),
    responses(
        (status = 200, description = "The calendar as it now is", body = CalendarAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/calendars/{calendar_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, CalendarId)>,
    asked: Query<CalendarQuery>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let (dry_run, confirmed) = asked.0.read()?;
    let request =
        WriteRequest::read_as(dry_run, &request, payload.into_inner(), body::LIMIT).await?;
    let patch = request.clone();
    let how = (app.config.webhook_reach(), confirmed);
    let read = turn::to_read().await?;
    write::run(&app, scope.caller, &request, move |change| {
        let _turn = read;
        let tenant = change.tenant();
        let current = calendars::find(change.conn, tenant, id)?;
        patch.require_match(current.version)?;
        let input: CalendarInput = patch.merge_patch(&CalendarInput::of(&current)?)?;
        let answer = calendars::replace(change, current, &input, how)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
