//! `PUT …/squads/{squad_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::squads::{self as service, SquadAnswer, SquadInput};
use crate::services::write;
use crate::store::squads;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSquads;

/// Put a squad
///
/// Stores a squad under an id of the caller's making (UUIDv7), or replaces the one that is there.
/// Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "People",
    operation_id = "put_squad",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), WriteParams, MatchHeader),
    request_body = SquadInput,
    responses(
        (status = 201, description = "Made under the new id", body = SquadAnswer),
        (status = 200, description = "Unchanged, or a new version", body = SquadAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/squads/{squad_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, squad_id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let Some(current) = squads::find(change.conn, tenant, squad_id)? else {
            sent.require_absent()?;
            let answer = service::create(change, squad_id, &sent.json()?)?;
            return Reply::created(location(club, squad_id), answer.version, &answer);
        };
        let before = current.version;
        sent.put_precondition(before)?;
        let answer = service::replace(change, current, &sent.json()?)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
