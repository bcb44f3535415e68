//! `PATCH …/roster/second-copies/{second_copy_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SecondCopyId};
use crate::services::roster::second_copies::{self as service, SecondCopyEntry, SecondCopyInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::DecideSecondCopies;

/// Decide whether two records are one person
///
/// A JSON Merge Patch (RFC 7396). `same_person`: what was logged under the second record belongs to the first, its key leads there too,
/// and it is listed no more. Figures and flags of both follow. `two_people` or `open` afterwards brings it all back as it now is; what
/// came in meanwhile under the second key stays with the first. Results of tests, restrictions, consents and the like are never carried
/// over: a second record that holds them is refused.
#[utoipa::path(
    tag = "People",
    operation_id = "patch_second_copy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("second_copy_id" = SecondCopyId, Path), WriteParams, MatchHeader),
    request_body(content = SecondCopyInput, content_type = "application/merge-patch+json",
        example = json!({"decision": "same_person"})),
    responses(
        (status = 200, description = "Both records, and what was decided", body = SecondCopyEntry,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}/roster/second-copies/{second_copy_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SecondCopyId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let patch = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = service::find(change.conn, tenant, id)?;
        patch.require_match(current.version.number)?;
        let input: SecondCopyInput = patch.merge_patch(&SecondCopyInput::of(&current.content))?;
        let answer = service::decide(change, current, &input)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
