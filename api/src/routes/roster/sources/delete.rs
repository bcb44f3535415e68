//! `DELETE …/roster/sources/{source_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources as service;
use crate::services::write;
use crate::store::roster_sources;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// Delete a roster source
///
/// Its address and its credentials are forgotten. The roster stays as it is: nobody leaves by it.
#[utoipa::path(
    tag = "People",
    operation_id = "delete_roster_source",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("source_id" = RosterSourceId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Deleted"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/roster/sources/{source_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RosterSourceId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = service::find(change.conn, tenant, id)?;
        conditions.require_match(current.version)?;
        roster_sources::delete(change.conn, tenant, id)?;
        Ok(Reply::empty())
    })
    .await
}
