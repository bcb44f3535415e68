//! `POST …/policy/drafts`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::body::PolicyBody;
use crate::services::policy::drafts::{self, PolicyDraftAnswer};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePolicy;

/// Draft a policy
///
/// Nothing is computed or flagged by a draft. It can be rehearsed, and another person can approve it.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "create_policy_draft",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = PolicyBody,
    responses(
        (status = 201, description = "Drafted", body = PolicyDraftAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/policy/drafts")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let answer = drafts::create(change, change.new_id(), &sent.json()?)?;
        Reply::created(location(club, answer.draft_id), answer.version, &answer)
    })
    .await
}
