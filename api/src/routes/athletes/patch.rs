//! `PATCH …/athletes/{athlete_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::athletes::{self, AthleteAnswer, AthleteInput};
use crate::services::{reach, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// Change an athlete
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out. Another first day
/// changes her figures, and flags of closed weeks are judged again.
#[utoipa::path(
    tag = "People",
    operation_id = "patch_athlete",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, MatchHeader),
    request_body(content = AthleteInput, content_type = "application/merge-patch+json",
        example = json!({"display_name": "Runa Falk-Berg"})),
    responses(
        (status = 200, description = "The athlete as she now is", body = AthleteAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/athletes/{athlete_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete_id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = reach::athlete(change.conn, change.caller, athlete_id)?;
        patch.require_match(current.version.number)?;
        let input: AthleteInput = patch.merge_patch(&AthleteInput::of(&current.content))?;
        let answer = athletes::replace(change, &current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
