//! `PUT /scim/v2/clubs/{club_id}/Users/{user_id}`.

use actix_web::{HttpRequest, put, web};
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::routes::scim::shapes::DirectoryUser;
use crate::scim::kept::USER;
use crate::services::directory::{base, renamed, tag, user};
use crate::services::write;
use crate::web::params::MatchHeader;
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams, reply};

type Needed = right::WriteAthletes;

/// Put a user
///
/// Replaces what is said of a user: what is left out stays as it is, null and an empty list take a value out (RFC 7644, section 3.5.1,
/// lets the service decide). The same content changes nothing. If-Match is not needed; where it is sent it has to hold.
#[utoipa::path(
    tag = "Directory",
    operation_id = "put_directory_user",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("user_id" = Uuid, Path), WriteParams, MatchHeader),
    request_body(content((DirectoryUser = "application/scim+json"), (DirectoryUser = "application/json"))),
    responses(
        (status = 200, description = "The user as it now is", body = DirectoryUser, content_type = "application/scim+json",
            headers(("ETag", description = "The entity tag"))),
        ScimWriteRefusals,
    )
)]
#[put("/scim/v2/clubs/{club_id}/Users/{user_id}")]
pub async fn put(
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
        let wanted = user::put(&before, &sent.body()?)?;
        let after = user::replace(change, &before, &wanted).map_err(renamed)?;
        let resource = after.resource(&base);
        let tag = tag::of(&resource);
        reply(200, &tag, &sent.projection.apply(&USER, resource))
    })
    .await
}
