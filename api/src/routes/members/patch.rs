//! `PATCH …/squads/{squad_id}/members/{membership_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, MembershipId, SquadId};
use crate::services::members::{self, MemberAnswer, MemberInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Change a membership
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out. An athlete leaves a
/// squad by a last day.
#[utoipa::path(
    tag = "People",
    operation_id = "patch_member",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("membership_id" = MembershipId, Path), WriteParams, MatchHeader,
    ),
    request_body(content = MemberInput, content_type = "application/merge-patch+json",
        example = json!({"to": "2027-06-30"})),
    responses(
        (status = 200, description = "The membership as it now is", body = MemberAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/squads/{squad_id}/members/{membership_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, MembershipId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, squad_id, id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = members::find(change.conn, change.caller, squad_id, id)?;
        patch.require_match(current.version.number)?;
        let input: MemberInput = patch.merge_patch(&MemberInput::of(&current.content))?;
        let answer = members::replace(change, &current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
