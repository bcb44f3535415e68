//! `POST …/squads/{squad_id}/members`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::members::{self, MemberAnswer, NewMember};
use crate::services::{reach, write};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Take an athlete into a squad
///
/// An athlete is in one squad at most once at a time and has at most one primary squad at a time; in
/// several squads at once she may be.
#[utoipa::path(
    tag = "People",
    operation_id = "create_member",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, KeyHeader),
    request_body = NewMember,
    responses(
        (status = 201, description = "Taken in", body = MemberAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/squads/{squad_id}/members")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, squad_id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        reach::squad(change.conn, change.caller, squad_id)?;
        let answer = members::create(change, squad_id, &sent.json()?)?;
        let id = answer.membership_id;
        let location = format!("/v1/clubs/{club}/squads/{squad_id}/members/{id}");
        Reply::created(location, answer.version, &answer)
    })
    .await
}
