//! `GET …/calendars`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::CalendarAnswer;
use crate::store::calendars;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ManageCalendars;

/// A page of calendars, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalendarPage {
    /// The calendars.
    pub items: Vec<CalendarAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List calendars
#[utoipa::path(
    tag = "Schedule",
    operation_id = "list_calendars",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = CalendarPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/calendars")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let (limit, after) = (query.limit.as_deref(), query.after.as_deref());
    let page = PageRequest::<CalendarId>::new(limit, after, "calendars")?;
    let (tenant, after, fetch) = (scope.caller.tenant, page.after, page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            let rows = calendars::page(conn, tenant, after, fetch)?;
            let answers = rows.into_iter().map(CalendarAnswer::of);
            answers.collect::<Result<Vec<_>, Problem>>()
        })
        .await?;
    page.page(rows, |row| row.calendar_id).answer(&request)
}
