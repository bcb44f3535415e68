//! `PATCH …/squads/{squad_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::squads::{self, SquadAnswer, SquadInput};
use crate::services::{reach, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Change a squad
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out.
#[utoipa::path(
    tag = "People",
    operation_id = "patch_squad",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, MatchHeader),
    request_body(content = SquadInput, content_type = "application/merge-patch+json",
        example = json!({"name": "U17 girls"})),
    responses(
        (status = 200, description = "The squad as it now is", body = SquadAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/squads/{squad_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, squad_id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = reach::squad(change.conn, change.caller, squad_id)?;
        patch.require_match(current.version)?;
        let input: SquadInput = patch.merge_patch(&squads::as_input(&current))?;
        let answer = squads::replace(change, current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
