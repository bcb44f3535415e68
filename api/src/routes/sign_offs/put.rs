//! `PUT …/athletes/{athlete_id}/sign-offs/{sign_off_id}`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SignOffId};
use crate::services::sign_offs::{self as service, SignOffAnswer, SignOffInput};
use crate::services::{reach, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSignOffs;

/// Sign a technique off
///
/// Under an id of the caller's making (UUIDv7), or replaces the one that is there. Who watched is the token's subject in its role, and
/// nobody signs off herself. What the exercise builds on is signed off before. A withdrawn one stays withdrawn. Identical content needs no
/// `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Exercises",
    operation_id = "put_sign_off",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("sign_off_id" = SignOffId, Path), WriteParams, MatchHeader),
    request_body = SignOffInput,
    responses(
        (status = 201, description = "Signed off under the new id", body = SignOffAnswer),
        (status = 200, description = "Unchanged, or a new version", body = SignOffAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/athletes/{athlete_id}/sign-offs/{sign_off_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, SignOffId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, athlete, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        reach::athlete(change.conn, change.caller, athlete)?;
        let current = service::stored(change.conn, change.caller, (athlete, id))?;
        match &current {
            None => sent.require_absent()?,
            Some(current) => sent.put_precondition(current.version.number)?,
        }
        let before = current.as_ref().map(|current| current.version.number);
        let answer = service::put(
            change,
            (athlete, id),
            current,
            &sent.json::<SignOffInput>()?,
        )?;
        match before {
            None => {
                let location = format!("/v1/clubs/{club}/athletes/{athlete}/sign-offs/{id}");
                Reply::created(location, answer.version, &answer)
            }
            Some(before) => {
                sent.after_put(before, answer.version)?;
                Reply::ok(answer.version, &answer)
            }
        }
    })
    .await
}
