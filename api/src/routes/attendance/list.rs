//! `GET …/attendance`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, AttendanceId, ClubId, EventId};
use crate::services::attendance::AttendanceAnswer;
use crate::services::audit::Reading;
use crate::services::reach;
use crate::store::attendance;
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSchedule;

/// Which entries are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AttendanceQuery {
    /// At this event.
    #[param(value_type = Option<EventId>)]
    event: Option<String>,
    /// Of this athlete.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of attendance, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct AttendancePage {
    /// The entries.
    pub items: Vec<AttendanceAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List attendance
///
/// Within the caller's reach. Asked for one athlete, the read is entered in the audit list before it
/// is answered.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "list_attendance",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), AttendanceQuery),
    responses(
        (status = 200, description = "A page", body = AttendancePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/attendance")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<AttendanceQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let event = query.event.as_deref().map(range::event).transpose()?;
    let page = PageRequest::<AttendanceId>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        format!("{athlete:?} {event:?}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, athlete)?;
            let (tenant, who) = (caller.tenant, reached.who());
            Ok::<_, Problem>(attendance::page(conn, tenant, who, event, after, fetch)?)
        })
        .await?;
    if let Some(athlete) = athlete {
        let reading = Reading {
            athlete,
            action: "list_attendance",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |row| row.content.attendance_id)
        .map(AttendanceAnswer::from)
        .answer(&request)
}
