//! `DELETE /scim/v2/clubs/{club_id}/Users/{user_id}`.

use actix_web::{HttpRequest, delete, web};
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::directory::{base, user};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::query::Query;
use crate::web::refusals::ScimWriteRefusals;
use crate::web::reply::Reply;
use crate::web::scim::{ScimWrite, WriteParams as ScimParams};

type Needed = right::WriteAthletes;

/// Delete a user
///
/// She is no longer in the directory. An athlete leaves every squad with the day before; nothing of her history goes, and the same key
/// brings her back.
#[utoipa::path(
    tag = "Directory",
    operation_id = "delete_directory_user",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("user_id" = Uuid, Path), WriteParams, MatchHeader),
    responses(
        (status = 204, description = "Deleted"),
        ScimWriteRefusals,
    )
)]
#[delete("/scim/v2/clubs/{club_id}/Users/{user_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, Uuid)>,
    params: Query<ScimParams>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = ScimWrite::read(&params.0, &request, payload.into_inner()).await?;
    let request = sent.request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let before = user::find(change, id)?;
        sent.require_match(&before.resource(&base(club)))?;
        user::delete(change, before)?;
        Ok(Reply::empty())
    })
    .await
}
