//! `GET …/squads/{squad_id}/members/{membership_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, MembershipId, SquadId};
use crate::services::members::{self, MemberAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadSquads;

/// Read a membership
#[utoipa::path(
    tag = "People",
    operation_id = "read_member",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("membership_id" = MembershipId, Path),
    ),
    responses(
        (status = 200, description = "The membership", body = MemberAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/members/{membership_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, MembershipId)>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id, id) = path.into_inner();
    let answer = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let member = members::find(conn, &scope.caller, squad_id, id)?;
            members::answer(conn, &scope.caller, &member.content, member.version.number)
        })
        .await?;
    Ok(found(answer.version, &answer))
}
