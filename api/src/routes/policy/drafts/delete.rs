//! `DELETE …/policy/drafts/{draft_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PolicyDraftId};
use crate::services::policy::drafts;
use crate::services::write;
use crate::store::policy_drafts;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePolicy;

/// Throw a draft of the policy away
///
/// Nothing was ever computed by it, so nothing of it is kept.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "delete_policy_draft",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("draft_id" = PolicyDraftId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Gone"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/policy/drafts/{draft_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PolicyDraftId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = drafts::find(change.conn, tenant, id)?;
        conditions.require_match(current.version)?;
        policy_drafts::remove(change.conn, tenant, id)?;
        Ok(Reply::empty())
    })
    .await
}
