//! `GET /scim/v2/clubs/{club_id}/Groups/{squad_id}`.

use actix_web::{HttpRequest, HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::routes::scim::shapes::DirectoryGroup;
use crate::scim::kept::GROUP;
use crate::services::directory::{base, group, tag};
use crate::services::zones;
use crate::web::query::Query;
use crate::web::refusals::ScimReadRefusals;
use crate::web::scim::{ShownParams, found};

type Needed = right::WriteSquads;

/// Read a group
///
/// A squad with who belongs to it today.
#[utoipa::path(
    tag = "Directory",
    operation_id = "read_directory_group",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), ShownParams),
    responses(
        (status = 200, description = "The group", body = DirectoryGroup, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        (status = 304, description = "It is as If-None-Match says"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/Groups/{squad_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    params: Query<ShownParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (club, id) = path.into_inner();
    let projection = params.0.read()?;
    let (tenant, now) = (scope.caller.tenant, app.clock.now());
    let group = app
        .store
        .read(tenant, move |conn| {
            let today = zones::club_date(conn, tenant, now)?;
            group::one(conn, tenant, today, id)
        })
        .await?;
    let resource = group.resource(&base(club));
    let tag = tag::of(&resource);
    Ok(found(&request, &tag, &projection.apply(&GROUP, resource)))
}
