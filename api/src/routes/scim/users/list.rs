//! `GET /scim/v2/clubs/{club_id}/Users`.

use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::routes::scim::search::asked_of;
use crate::routes::scim::shapes::DirectoryUsers;
use crate::scim::kept::USER;
use crate::services::directory::query::Question;
use crate::web::query::Query;
use crate::web::refusals::ScimReadRefusals;
use crate::web::scim::{ListParams, told};

type Needed = right::WriteAthletes;

/// List users
///
/// Athletes, whoever entered them, and whom the directory named beside, by id.
#[utoipa::path(
    tag = "Directory",
    operation_id = "list_directory_users",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ListParams),
    responses(
        (status = 200, description = "A page", body = DirectoryUsers, content_type = "application/scim+json"),
        ScimReadRefusals,
    )
)]
#[get("/scim/v2/clubs/{club_id}/Users")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    params: Query<ListParams>,
) -> Result<HttpResponse, Problem> {
    let params = params.0;
    let (projection, place) = (params.projection()?, params.place()?);
    let question = Question::new(vec![&USER], params.filter.as_deref(), projection, place)?;
    Ok(told(&asked_of(&app, scope.caller, question).await?))
}
