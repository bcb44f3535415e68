//! `POST /scim/v2/clubs/{club_id}/Users`.

use actix_web::{HttpRequest, post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::routes::scim::shapes::DirectoryUser;
use crate::scim::kept::USER;
use crate::services::directory::{base, renamed, tag, user};
use crate::services::write;
use crate::web::params::KeyHeader;
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams, reply};

type Needed = right::WriteAthletes;

/// Add a user
///
/// An athlete, a guardian or staff, by `roles`; who is nothing else is an athlete. Who comes back under the key of an athlete whom the
/// directory had deleted is that athlete, with her history.
#[utoipa::path(
    tag = "Directory",
    operation_id = "create_directory_user",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body(content((DirectoryUser = "application/scim+json"), (DirectoryUser = "application/json"))),
    responses(
        (status = 201, description = "Added", body = DirectoryUser, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"), ("Location", description = "Where it is"))),
        ScimWriteRefusals,
    )
)]
#[post("/scim/v2/clubs/{club_id}/Users")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    params: Query<WriteParams>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let base = base(path.into_inner());
    let sent = ScimWrite::read(&params.0, &request, payload.into_inner()).await?;
    let request = sent.request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let made = user::create(change, &sent.body()?).map_err(renamed)?;
        let resource = made.resource(&base);
        let tag = tag::of(&resource);
        let shown = sent.projection.apply(&USER, resource);
        Ok(Reply {
            location: Some(made.location(&base)),
            ..reply(201, &tag, &shown)?
        })
    })
    .await
}
