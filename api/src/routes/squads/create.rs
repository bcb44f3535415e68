//! `POST …/squads`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::squads::{self, SquadAnswer, SquadInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Make a squad
#[utoipa::path(
    tag = "People",
    operation_id = "create_squad",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = SquadInput,
    responses(
        (status = 201, description = "Made", body = SquadAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/squads")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: SquadInput = request.json()?;
    write::run(&app, scope.caller, &request, move |change| {
        let squad_id = change.new_id();
        let answer = squads::create(change, squad_id, &input)?;
        Reply::created(location(club, squad_id), answer.version, &answer)
    })
    .await
}
