//! `PATCH /scim/v2/clubs/{club_id}/Users/{user_id}`.

use actix_web::{HttpRequest, patch, web};
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::routes::scim::shapes::{DirectoryPatch, DirectoryUser};
use crate::scim::kept::USER;
use crate::scim::patch::operations;
use crate::services::directory::{base, renamed, tag, user};
use crate::services::write;
use crate::web::params::MatchHeader;
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams, reply};

type Needed = right::WriteAthletes;

/// Change a user
///
/// Operations one after the other, all or none (RFC 7644, section 3.5.2). `active` false lets an athlete leave every squad with the day
/// before; nothing of her history goes.
#[utoipa::path(
    tag = "Directory",
    operation_id = "patch_directory_user",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("user_id" = Uuid, Path), WriteParams, MatchHeader),
    request_body(content((DirectoryPatch = "application/scim+json"), (DirectoryPatch = "application/json"))),
    responses(
        (status = 200, description = "The user as it now is", body = DirectoryUser, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        ScimWriteRefusals,
    )
)]
#[patch("/scim/v2/clubs/{club_id}/Users/{user_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, Uuid)>,
    params: Query<WriteParams>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = ScimWrite::read(&params.0, &request, payload.into_inner()).await?;
    let request = sent.request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let base = base(club);
        let before = user::find(change, id)?;
        sent.require_match(&before.resource(&base))?;
        let wanted = user::patched(&before, &operations(&sent.body()?)?)?;
        let after = user::replace(change, &before, &wanted).map_err(renamed)?;
        let resource = after.resource(&base);
        let tag = tag::of(&resource);
        reply(200, &tag, &sent.projection.apply(&USER, resource))
    })
    .await
}
