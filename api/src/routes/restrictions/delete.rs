//! `DELETE …/restrictions/{restriction_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestrictionId};
use crate::routes::sessions::delete::Removal;
use crate::services::{restrictions, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClinical;

/// Take a restriction back
///
/// As one that should never have been, with the reason; one that is over gets a last day instead. One that
/// waits for a written clearance stays: a clearance record ends it.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "delete_restriction",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("restriction_id" = RestrictionId, Path), WriteParams, MatchHeader),
    request_body = Removal,
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/restrictions/{restriction_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestrictionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "delete_restriction";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let current = restrictions::find(change.conn, change.caller, id)?;
        sent.require_match(current.version.number)?;
        let removal: Removal = sent.json_or_default()?;
        restrictions::remove(change, current, removal.reason)?;
        Ok(Reply::empty())
    })
    .await
}
