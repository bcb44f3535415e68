//! `POST …/policy/drafts/{draft_id}/approval`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PolicyDraftId};
use crate::services::policy::adopt::PolicyAnswer;
use crate::services::policy::drafts;
use crate::services::write;
use crate::web::params::{KeyHeader, MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ApprovePolicy;

/// Approve a draft of the policy
///
/// Makes it the next version, from its own date on: any date for a club's first policy, later never
/// one before today. Another person than the one who wrote the draft or changed it last approves it, by
/// the subject of the token, and says with `If-Match` which version was read. The draft is gone then.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "approve_policy_draft",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("draft_id" = PolicyDraftId, Path), WriteParams, KeyHeader, MatchHeader),
    responses(
        (status = 200, description = "The version it made; the latest where that says the same", body = PolicyAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/policy/drafts/{draft_id}/approval")]
pub async fn approve(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PolicyDraftId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let draft = drafts::find(change.conn, tenant, id)?;
        conditions.require_match(draft.version)?;
        let answer = drafts::approve(change, &draft)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
