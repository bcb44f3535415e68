//! `PUT …/athletes/{athlete_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::athletes::{self, AthleteAnswer, AthleteInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// Put an athlete
///
/// Stores an athlete under an id of the caller's making (UUIDv7), or replaces what is said of the one
/// that is there. Identical content needs no `If-Match` and is answered 200; other content does. Her
/// squads change through their members.
#[utoipa::path(
    tag = "People",
    operation_id = "put_athlete",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, MatchHeader),
    request_body = AthleteInput,
    responses(
        (status = 201, description = "Added under the new id", body = AthleteAnswer),
        (status = 200, description = "Unchanged, or a new version", body = AthleteAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/athletes/{athlete_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, athlete_id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let Some(current) = athletes::find(change.conn, change.caller, athlete_id)? else {
            sent.require_absent()?;
            let answer = athletes::create(change, athlete_id, &sent.json()?, &[])?;
            return Reply::created(location(club, athlete_id), answer.version, &answer);
        };
        let before = current.version.number;
        sent.put_precondition(before)?;
        let answer = athletes::replace(change, &current, &sent.json()?)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
