//! `DELETE …/programmes/{programme_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeId};
use crate::services::{programmes, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteProgrammes;

/// Remove a programme
///
/// One that nobody does any more, or is to do. A tombstone is kept, and so are its versions, for what was assigned before.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "delete_programme",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("programme_id" = ProgrammeId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Removed"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/programmes/{programme_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, ProgrammeId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = programmes::standing(change.conn, tenant, id)?;
        conditions.require_match(current.version.number)?;
        programmes::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
