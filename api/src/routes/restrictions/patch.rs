//! `PATCH …/restrictions/{restriction_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestrictionId};
use crate::services::restrictions::{self, RestrictionAnswer, RestrictionInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClinical;

/// Change a restriction
///
/// A JSON Merge Patch (RFC 7396): the fields given change, null takes one out. A later review date renews
/// it, a last day ends it. The earlier version is kept, and flags of closed weeks are judged again.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "patch_restriction",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("restriction_id" = RestrictionId, Path), WriteParams, MatchHeader),
    request_body(content = RestrictionInput, content_type = "application/merge-patch+json",
        example = json!({"review_date": "2026-11-27"})),
    responses(
        (status = 200, description = "The restriction as it now is", body = RestrictionAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/restrictions/{restriction_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestrictionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    if !request.dry_run {
        let action = "patch_restriction";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let current = restrictions::find(change.conn, change.caller, id)?;
        patch.require_match(current.version.number)?;
        let input: RestrictionInput = patch.merge_patch(&RestrictionInput::of(&current.content))?;
        let answer = restrictions::replace(change, current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
