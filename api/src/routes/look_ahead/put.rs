//! `PUT …/look-ahead`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::look_ahead::setting::{self, LookAheadInput, LookAheadSetting};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClub;

/// Set whether and when the club looks ahead
///
/// A time of the running week that has passed is not made up for. One look-ahead a week is made at most.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "put_look_ahead_setting",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = LookAheadInput,
    responses(
        (status = 200, description = "As it now is", body = LookAheadSetting,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/look-ahead")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let before = setting::stored(change.conn, change.caller.tenant)?;
        sent.put_precondition(before.version)?;
        let answer = setting::set(change, &sent.json()?)?;
        sent.after_put(before.version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
