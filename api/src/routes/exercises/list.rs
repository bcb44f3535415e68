//! `GET …/exercises`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::exercises::{ClubCatalogue, ExerciseAnswer};
use crate::store::Known;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadExercises;

/// A page of exercises, by code.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExercisePage {
    /// The exercises.
    pub items: Vec<ExerciseAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List exercises
///
/// The catalogue: what comes with the service and the club's own, with the club's films. It is about nobody.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "list_exercises",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = ExercisePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/exercises")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<String>::new(limit, after, "exercises")?;
    let tenant = scope.caller.tenant;
    let catalogue = app
        .store
        .read(tenant, move |conn| {
            ClubCatalogue::read(conn, tenant, Known::Now)
        })
        .await?;
    let rows = catalogue.answers();
    let rows = rows.filter(|one| page.after.as_ref().is_none_or(|after| one.code > *after));
    page.page(rows.collect(), |one| one.code.clone())
        .answer(&request)
}
