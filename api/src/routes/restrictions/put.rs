//! `PUT …/restrictions/{restriction_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestrictionId};
use crate::services::restrictions::{self as service, RestrictionAnswer, RestrictionInput};
use crate::services::write;
use crate::store::restrictions;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClinical;

/// Put a restriction
///
/// Sets a restriction under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does. One that waits for a
/// written clearance is neither ended nor begun later this way.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "put_restriction",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("restriction_id" = RestrictionId, Path), WriteParams, MatchHeader),
    request_body = RestrictionInput,
    responses(
        (status = 201, description = "Set under the new id", body = RestrictionAnswer),
        (status = 200, description = "Unchanged, or a new version", body = RestrictionAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/restrictions/{restriction_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RestrictionId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "put_restriction";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let answer = match restrictions::current(change.conn, tenant, id)? {
            Some(stored) if !stored.version.deleted => {
                let current = service::find(change.conn, change.caller, id)?;
                let before = current.version.number;
                sent.put_precondition(before)?;
                let answer = service::replace(change, current, &sent.json()?)?;
                sent.after_put(before, answer.version)?;
                return Reply::ok(answer.version, &answer);
            }
            Some(tombstone) => {
                sent.require_absent()?;
                service::replace(change, tombstone, &sent.json()?)?
            }
            None => {
                sent.require_absent()?;
                service::enter(change, id, &sent.json()?)?
            }
        };
        Reply::created(location(club, id), answer.version, &answer)
    })
    .await
}
