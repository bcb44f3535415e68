//! `PUT …/policy/drafts/{draft_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PolicyDraftId};
use crate::services::policy::body::PolicyBody;
use crate::services::policy::drafts::{self, PolicyDraftAnswer};
use crate::services::write;
use crate::store::policy_drafts;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePolicy;

/// Put a draft of the policy
///
/// Stores a draft under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does. Whoever changed it
/// last cannot approve it.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "put_policy_draft",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("draft_id" = PolicyDraftId, Path), WriteParams, MatchHeader),
    request_body = PolicyBody,
    responses(
        (status = 201, description = "Drafted under the new id", body = PolicyDraftAnswer),
        (status = 200, description = "Unchanged, or a new version", body = PolicyDraftAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/policy/drafts/{draft_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PolicyDraftId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let Some(current) = policy_drafts::find(change.conn, tenant, id)? else {
            sent.require_absent()?;
            let answer = drafts::create(change, id, &sent.json()?)?;
            return Reply::created(location(club, id), answer.version, &answer);
        };
        let before = current.version;
        sent.put_precondition(before)?;
        let answer = drafts::replace(change, current, &sent.json()?)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
