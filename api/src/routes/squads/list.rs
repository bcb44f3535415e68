//! `GET …/squads`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::reach;
use crate::services::squads::SquadAnswer;
use crate::store::squads;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSquads;

/// A page of squads, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct SquadPage {
    /// The squads.
    pub items: Vec<SquadAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List squads
///
/// All of the club; of a coach who is limited to squads, those.
#[utoipa::path(
    tag = "People",
    operation_id = "list_squads",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = SquadPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let page =
        PageRequest::<SquadId>::new(query.limit.as_deref(), query.after.as_deref(), "squads")?;
    let (after, fetch) = (page.after, page.fetch());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let only = reach::squads(conn, &scope.caller)?;
            squads::page(conn, scope.caller.tenant, only.as_deref(), after, fetch)
        })
        .await?;
    page.page(rows, |squad| squad.squad_id)
        .map(SquadAnswer::from)
        .answer(&request)
}
