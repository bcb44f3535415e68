//! `DELETE …/athletes/{athlete_id}/sign-offs/{sign_off_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SignOffId};
use crate::routes::sessions::delete::Removal;
use crate::services::{reach, sign_offs, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSignOffs;

/// Withdraw a sign-off
///
/// With the reason. It stays in the list as withdrawn, and what builds on it alone no longer leads on.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "delete_sign_off",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("sign_off_id" = SignOffId, Path), WriteParams, MatchHeader),
    request_body = Removal,
    responses((status = 204, description = "Withdrawn"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/athletes/{athlete_id}/sign-offs/{sign_off_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, SignOffId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        reach::athlete(change.conn, change.caller, athlete)?;
        let current = sign_offs::stored(change.conn, change.caller, (athlete, id))?;
        let current = current.filter(|one| !one.version.deleted);
        let current = current.ok_or_else(Problem::not_found)?;
        sent.require_match(current.version.number)?;
        let removal: Removal = sent.json_or_default()?;
        sign_offs::withdraw(change, current, removal.reason)?;
        Ok(Reply::empty())
    })
    .await
}
