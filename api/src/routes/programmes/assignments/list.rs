//! `GET …/programmes/{programme_id}/assignments`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeAssignmentId, ProgrammeId};
use crate::services::programmes::assignments::{self, AssignmentAnswer};
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadProgrammes;

/// A page of assignments, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct AssignmentPage {
    /// The assignments.
    pub items: Vec<AssignmentAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List who does a programme
///
/// Squads and athletes within the caller's reach. The read of each athlete shown is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "list_assignments",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = AssignmentPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/programmes/{programme_id}/assignments")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId)>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, programme) = path.into_inner();
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<ProgrammeAssignmentId>::new(limit, after, programme.to_string())?;
    let caller = scope.caller.clone();
    let mut rows = app
        .store
        .read(caller.tenant, move |conn| {
            assignments::list(conn, &caller, programme)
        })
        .await?;
    rows.retain(|one| {
        page.after
            .is_none_or(|after| one.content.assignment_id > after)
    });
    let page = page.page(rows, |one| one.content.assignment_id);
    let shown: Vec<_> = page
        .items
        .iter()
        .filter_map(|one| one.content.athlete_id)
        .collect();
    app.audit
        .record_shown(&app, &scope.caller, "list_assignments", shown)
        .await?;
    let role = scope.caller.principal.role;
    let page = page.try_map(|one| AssignmentAnswer::shown_to(role, one))?;
    page.answer(&request)
}
