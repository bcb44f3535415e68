//! `POST …/restrictions`.

use actix_web::{post, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::restrictions::{self, RestrictionAnswer, RestrictionInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClinical;

/// Set a restriction
///
/// By an athletic trainer with a licence on file. Coaches read the instruction made of it in the squad's
/// day, never the note or the reason. From its review date on they are told to ask; it never ends by
/// itself. Where a written clearance is required nothing is computed and no load figure shortens it: not
/// available until cleared in writing under local law. Local rules and the clinician come first.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "create_restriction",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = RestrictionInput,
    responses(
        (status = 201, description = "Set", body = RestrictionAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/restrictions")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, sent) = (path.into_inner(), request.clone());
    if !request.dry_run {
        let action = "create_restriction";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let input: RestrictionInput = sent.json()?;
        let id = change.new_id();
        let answer = restrictions::enter(change, id, &input)?;
        Reply::created(location(club, id), answer.version, &answer)
    })
    .await
}
