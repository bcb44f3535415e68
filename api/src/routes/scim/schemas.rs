//! `GET /scim/v2/clubs/{club_id}/Schemas`, all or one.

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

/// List the schemas
///
/// Of users, of groups, and of what the roster says of an athlete. What of a user is read over and never kept is in the description.
#[utoipa::path(
    tag = "Directory",
    operation_id = "list_directory_schemas",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The schemas", body = DirectoryList, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/Schemas")]
pub async fn list(
    _scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let base = base(path.into_inner());
    Ok(told(&discovery::all_schemas(&base)))
}

/// Read a schema
///
/// By its URN.
#[utoipa::path(
    tag = "Directory",
    operation_id = "read_directory_schema",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("schema" = String, Path, description = "The URN of the schema",
        pattern = "^urn:(ietf:params:scim:schemas:core:2\\.0:(User|Group)|plimsoll:scim:schemas:extension:roster:1\\.0:User)$")),
    responses(
        (status = 200, description = "The schema (RFC 7643, section 7)",
            body = serde_json::Value, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/Schemas/{schema}")]
pub async fn read(
    _scope: ClubScope<Needed>,
    path: web::Path<(ClubId, String)>,
) -> Result<HttpResponse, Problem> {
    let (club, id) = path.into_inner();
    let found = discovery::schema(&base(club), &id);
    Ok(told(&found.ok_or_else(Problem::not_found)?))
}
