//! `GET /scim/v2/clubs/{club_id}/ResourceTypes`, all or one.

use actix_web::{HttpResponse, get, web};

use super::shapes::DirectoryList;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::scim::discovery;
use crate::services::directory::base;
use crate::web::refusals::ScimReadRefusals;
use crate::web::scim::told;

type Needed = right::WriteAthletes;

/// List the kinds of resources
///
/// Users and groups.
#[utoipa::path(
    tag = "Directory",
    operation_id = "list_directory_resource_types",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The kinds", body = DirectoryList, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/ResourceTypes")]
pub async fn list(
    _scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let base = base(path.into_inner());
    Ok(told(&discovery::resource_types(&base)))
}

/// Read a kind of resource
///
/// User or Group.
#[utoipa::path(
    tag = "Directory",
    operation_id = "read_directory_resource_type",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("resource_type" = String, Path, description = "User or Group",
        pattern = "^(User|Group)$")),
    responses(
        (status = 200, description = "The kind", body = serde_json::Value, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/ResourceTypes/{resource_type}")]
pub async fn read(
    _scope: ClubScope<Needed>,
    path: web::Path<(ClubId, String)>,
) -> Result<HttpResponse, Problem> {
    let (club, name) = path.into_inner();
    let found = discovery::resource_type(&base(club), &name);
    Ok(told(&found.ok_or_else(Problem::not_found)?))
}
