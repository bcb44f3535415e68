//! `POST …/athletes`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::athletes::{self, AthleteAnswer, NewAthlete};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// Add an athlete
///
/// With the squads she joins on her first day; further memberships are made in the squads.
#[utoipa::path(
    tag = "People",
    operation_id = "create_athlete",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = NewAthlete,
    responses(
        (status = 201, description = "Added", body = AthleteAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/athletes")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let (input, squads) = request.json::<NewAthlete>()?.split();
    write::run(&app, scope.caller, &request, move |change| {
        let athlete_id = change.new_id();
        let answer = athletes::create(change, athlete_id, &input, &squads)?;
        Reply::created(location(club, athlete_id), answer.version, &answer)
    })
    .await
}
