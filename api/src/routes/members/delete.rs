//! `DELETE …/squads/{squad_id}/members/{membership_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, MembershipId, SquadId};
use crate::services::{members, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Take a membership back
///
/// For one entered by mistake; who leaves a squad gets a last day instead. A tombstone is kept.
#[utoipa::path(
    tag = "People",
    operation_id = "delete_member",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("membership_id" = MembershipId, Path), WriteParams, MatchHeader,
    ),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/squads/{squad_id}/members/{membership_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, MembershipId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, squad_id, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = members::find(change.conn, change.caller, squad_id, id)?;
        conditions.require_match(current.version.number)?;
        members::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
