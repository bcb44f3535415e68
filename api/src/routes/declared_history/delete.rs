//! `DELETE …/athletes/{athlete_id}/declared-history`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::{declared as service, reach, write};
use crate::store::{Known, declared};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteDays;

/// Take declared history back
///
/// A tombstone is kept.
#[utoipa::path(
    tag = "Days",
    operation_id = "delete_declared_history",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/athletes/{athlete_id}/declared-history")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        reach::athlete(change.conn, change.caller, athlete)?;
        let tenant = change.tenant();
        let current = declared::of_athlete(change.conn, tenant, athlete, Known::Now)?;
        let current = current.ok_or_else(Problem::not_found)?;
        conditions.require_match(current.version.number)?;
        service::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
