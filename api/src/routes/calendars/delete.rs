//! `DELETE …/calendars/{calendar_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::{calendars as service, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageCalendars;

/// Delete a calendar
///
/// Its text and its feed are forgotten. Sessions that are still to come are cancelled; what has been stays, with its reports.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "delete_calendar",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("calendar_id" = CalendarId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Deleted"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/calendars/{calendar_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, CalendarId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = service::find(change.conn, tenant, id)?;
        conditions.require_match(current.version)?;
        service::remove(change, &current)?;
        Ok(Reply::empty())
    })
    .await
}
