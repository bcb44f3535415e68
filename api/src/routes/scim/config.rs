//! `GET /scim/v2/clubs/{club_id}/ServiceProviderConfig`.

use actix_web::{HttpResponse, get, web};

use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::scim::discovery;
use crate::services::directory::base;
use crate::web::refusals::ScimReadRefusals;
use crate::web::scim::told;

type Needed = right::WriteAthletes;

/// Read what of SCIM is supported
///
/// Patches, filters, entity tags; neither bulk operations nor sorting nor passwords.
#[utoipa::path(
    tag = "Directory",
    operation_id = "read_directory_config",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "What is supported (RFC 7643, section 5)",
            body = serde_json::Value, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/ServiceProviderConfig")]
pub async fn read(
    _scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let base = base(path.into_inner());
    Ok(told(&discovery::service_provider_config(&base)))
}
