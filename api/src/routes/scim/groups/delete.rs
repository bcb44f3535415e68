//! `DELETE /scim/v2/clubs/{club_id}/Groups/{squad_id}`.

use actix_web::{HttpRequest, delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::directory::{base, members};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams as ScimParams};

type Needed = right::WriteSquads;

/// Delete a group
///
/// Everybody leaves the squad with the day before. It stays for what is kept of it, and the same key brings it back.
#[utoipa::path(
    tag = "Directory",
    operation_id = "delete_directory_group",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, MatchHeader),
    responses(
        (status = 204, description = "Deleted"),
        ScimWriteRefusals,
    )
)]
#[delete("/scim/v2/clubs/{club_id}/Groups/{squad_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    params: Query<ScimParams>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = ScimWrite::read(&params.0, &request, payload.into_inner()).await?;
    let request = sent.request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let before = members::find(change, id)?;
        sent.require_match(&before.resource(&base(club)))?;
        members::delete(change, &before)?;
        Ok(Reply::empty())
    })
    .await
}
