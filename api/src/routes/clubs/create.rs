//! `POST /v1/clubs`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ServiceScope, right};
use crate::error::Problem;
use crate::services::clubs::{ClubAnswer, ClubInput};
use crate::services::write;
use crate::store::clubs;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageClubs;

/// Make a club
///
/// Only the operator makes clubs, and reaches nothing inside them.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "create_club",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(WriteParams, KeyHeader),
    request_body = ClubInput,
    responses(
        (status = 201, description = "Made", body = ClubAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs")]
pub async fn create(
    app: web::Data<App>,
    scope: ServiceScope<Needed>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let content = request.json::<ClubInput>()?.check();
    write::run_new_club(
        &app,
        &scope.principal,
        &request,
        move |conn, tenant, now| {
            let content = content?;
            let club = clubs::insert(conn, tenant, &content.name, &content.time_zone, now)?;
            let location = format!("/v1/clubs/{}", club.club_id);
            Reply::created(location, club.version, &ClubAnswer::of(club, false))
        },
    )
    .await
}
