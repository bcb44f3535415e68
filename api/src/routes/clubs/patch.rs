//! `PATCH /v1/clubs/{club_id}`.

use actix_web::{patch, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::clubs::{self as service, ClubAnswer, ClubInput};
use crate::services::write;
use crate::store::clubs;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClub;

/// Change a club
///
/// A JSON Merge Patch (RFC 7396): the fields given change. A new zone says what "today" means from
/// now on; load dates of sessions stay as they are.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "patch_club",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body(content = ClubInput, content_type = "application/merge-patch+json",
        example = json!({"name": "Havneby Handball and Athletics"})),
    responses(
        (status = 200, description = "The club as it now is", body = ClubAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[patch("/v1/clubs/{club_id}")]
pub async fn patch(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (patch, sandbox) = (request.clone(), app.is_sandbox());
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let mut club = clubs::find(change.conn, tenant)?.ok_or_else(Problem::not_found)?;
        patch.require_match(club.version)?;
        let input: ClubInput = patch.merge_patch(&service::as_input(&club))?;
        let new = input.check()?;
        if (&new.name, &new.time_zone) != (&club.name, &club.time_zone) {
            club = clubs::update(change.conn, tenant, club.version, &new.name, &new.time_zone)?;
        }
        Reply::ok(club.version, &ClubAnswer::of(club, sandbox))
    })
    .await
}
