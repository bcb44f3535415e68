//! `DELETE …/injuries/{injury_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, InjuryId};
use crate::services::{injuries, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteInjuries;

/// Take an injury back
///
/// Tests are not read against it any more; a tombstone is kept.
#[utoipa::path(
    tag = "Tests",
    operation_id = "delete_injury",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("injury_id" = InjuryId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/injuries/{injury_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, InjuryId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = injuries::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        injuries::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
