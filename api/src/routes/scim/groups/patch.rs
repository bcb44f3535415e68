//! `PATCH /scim/v2/clubs/{club_id}/Groups/{squad_id}`.

use actix_web::{HttpRequest, patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::routes::scim::shapes::{DirectoryGroup, DirectoryPatch};
use crate::scim::kept::GROUP;
use crate::scim::patch::operations;
use crate::services::directory::{base, members, renamed, tag};
use crate::services::write;
use crate::web::params::MatchHeader;
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams, reply};

type Needed = right::WriteSquads;

/// Change a group
///
/// Operations one after the other, all or none (RFC 7644, section 3.5.2), such as `members[value eq "…"]`. Adding somebody who is not
/// active is refused.
#[utoipa::path(
    tag = "Directory",
    operation_id = "patch_directory_group",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, MatchHeader),
    request_body(content((DirectoryPatch = "application/scim+json"), (DirectoryPatch = "application/json"))),
    responses(
        (status = 200, description = "The group as it now is", body = DirectoryGroup, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        ScimWriteRefusals,
    )
)]
#[patch("/scim/v2/clubs/{club_id}/Groups/{squad_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    params: Query<WriteParams>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = ScimWrite::read(&params.0, &request, payload.into_inner()).await?;
    let request = sent.request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let base = base(club);
        let before = members::find(change, id)?;
        sent.require_match(&before.resource(&base))?;
        let wanted = members::patched(&before, &operations(&sent.body()?)?)?;
        let after = members::replace(change, &before, &wanted).map_err(renamed)?;
        let resource = after.resource(&base);
        let tag = tag::of(&resource);
        reply(200, &tag, &sent.projection.apply(&GROUP, resource))
    })
    .await
}
