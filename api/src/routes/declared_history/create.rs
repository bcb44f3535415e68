//! `POST …/athletes/{athlete_id}/declared-history`.

use actix_web::{post, web};

use super::read::answered;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::declared::{self, DeclaredAnswer, DeclaredInput};
use crate::services::{reach, write};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteDays;

/// Declare history
///
/// A usual week before joining, as a range. There is one an athlete: other content is its next version,
/// the same content changes nothing. It is shown beside figures that do not exist yet and never
/// enters one.
#[utoipa::path(
    tag = "Days",
    operation_id = "create_declared_history",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = DeclaredInput,
    responses(
        (status = 201, description = "Declared", body = DeclaredAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        (status = 200, description = "There already, unchanged or as a new version", body = DeclaredAnswer),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/declared-history")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, athlete) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        reach::athlete(change.conn, change.caller, athlete)?;
        let input: DeclaredInput = sent.json()?;
        let (stored, new) = declared::enter(change, athlete, &input)?;
        let now = change.at();
        let answer = answered(change.conn, change.caller, &stored, now, None)?;
        if !new {
            return Reply::ok(answer.version, &answer);
        }
        let location = format!("/v1/clubs/{club}/athletes/{athlete}/declared-history");
        Reply::created(location, answer.version, &answer)
    })
    .await
}
