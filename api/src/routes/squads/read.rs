//! `GET …/squads/{squad_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::reach;
use crate::services::squads::SquadAnswer;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSquads;

/// Read a squad
#[utoipa::path(
    tag = "People",
    operation_id = "read_squad",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path)),
    responses(
        (status = 200, description = "The squad", body = SquadAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id) = path.into_inner();
    let squad = app
        .store
        .read(scope.caller.tenant, move |conn| {
            reach::squad(conn, &scope.caller, squad_id)
        })
        .await?;
    Ok(found(squad.version, &SquadAnswer::from(squad)))
}
