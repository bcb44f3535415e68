//! `DELETE …/licences/{licence_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, LicenceId};
use crate::services::{licences, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteLicences;

/// Take a licence off the file
///
/// Its subject writes no more restrictions and clearance records. Those that are there stay.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "delete_licence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("licence_id" = LicenceId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Off the file"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/licences/{licence_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, LicenceId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "delete_licence";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let current = licences::find(change.conn, tenant, id)?;
        sent.require_match(current.version.number)?;
        licences::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
