//! `GET …/policy/drafts/{draft_id}`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PolicyDraftId};
use crate::services::policy::drafts::{self, PolicyDraftAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ApprovePolicy;

/// Read a draft of the policy
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_policy_draft",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("draft_id" = PolicyDraftId, Path)),
    responses(
        (status = 200, description = "The draft", body = PolicyDraftAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/drafts/{draft_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PolicyDraftId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let tenant = scope.caller.tenant;
    let draft = app
        .store
        .read(tenant, move |conn| drafts::find(conn, tenant, id))
        .await?;
    let answer = PolicyDraftAnswer::new(draft)?;
    Ok(found(answer.version, &answer))
}
