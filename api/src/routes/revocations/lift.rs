//! `DELETE …/revocations/{revocation_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RevocationId};
use crate::services::write;
use crate::store::revocations;
use crate::web::params::WriteParams;
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::RevokeTokens;

/// Lift a revocation
///
/// Tokens of the subject are accepted again; the revocation stays on the list as lifted.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "lift_revocation",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("revocation_id" = RevocationId, Path), WriteParams),
    responses((status = 204, description = "Lifted"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/revocations/{revocation_id}")]
pub async fn lift(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RevocationId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let reply = write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        if !revocations::lift(change.conn, tenant, change.moment, id)? {
            return Err(Problem::not_found());
        }
        Ok(Reply::empty())
    })
    .await?;
    app.revocations.refresh(&app.store).await?;
    Ok(reply)
}
