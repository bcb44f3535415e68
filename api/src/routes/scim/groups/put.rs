//! `PUT /scim/v2/clubs/{club_id}/Groups/{squad_id}`.

use actix_web::{HttpRequest, put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::routes::scim::shapes::DirectoryGroup;
use crate::scim::kept::GROUP;
use crate::services::directory::{base, members, renamed, tag};
use crate::services::write;
use crate::web::params::MatchHeader;
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams, reply};

type Needed = right::WriteSquads;

/// Put a group
///
/// Replaces name, key and members of a squad: what is left out stays as it is, null and an empty list take a value out. Who is named and
/// did not belong to it does from today on, who is not named leaves with the day before. The same content changes nothing.
#[utoipa::path(
    tag = "Directory",
    operation_id = "put_directory_group",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, MatchHeader),
    request_body(content((DirectoryGroup = "application/scim+json"), (DirectoryGroup = "application/json"))),
    responses(
        (status = 200, description = "The group as it now is", body = DirectoryGroup, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        ScimWriteRefusals,
    )
)]
#[put("/scim/v2/clubs/{club_id}/Groups/{squad_id}")]
pub async fn put(
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
        let wanted = members::put(&before, &sent.body()?)?;
        let after = members::replace(change, &before, &wanted).map_err(renamed)?;
        let resource = after.resource(&base);
        let tag = tag::of(&resource);
        reply(200, &tag, &sent.projection.apply(&GROUP, resource))
    })
    .await
}
