//! `PUT …/weekly-close`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::closing::{self, ClosingAnswer, ClosingInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClub;

/// Set when the week is closed
///
/// Weeks that are closed already stay as they are; those that are not yet are closed at the new time.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "put_weekly_close",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = ClosingInput,
    responses(
        (status = 200, description = "As it now is", body = ClosingAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/weekly-close")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let before = closing::stored(change.conn, change.caller.tenant)?;
        sent.put_precondition(before.version)?;
        let answer = closing::set(change, &sent.json()?)?;
        sent.after_put(before.version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
