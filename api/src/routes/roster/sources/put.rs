//! `PUT …/roster/sources/{source_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, Problem};
use crate::ids::{ClubId, RosterSourceId};
use crate::services::roster::sources::{self as service, RosterSourceAnswer, RosterSourceInput};
use crate::services::write;
use crate::store::roster_sources;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteAthletes;

/// Set up a roster source
///
/// A roster app that is pulled, at once and then every so many hours, or by hand alone. It is the roster of the client that sets it up:
/// external ids are that client's keys, as where it sends its roster itself. Address and credentials are kept sealed and never answered;
/// left out they stay as they are. Without `every_hours` it can be tried first, with `…/test` and with `…/pull?dry_run=true`.
#[utoipa::path(
    tag = "People",
    operation_id = "put_roster_source",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("source_id" = RosterSourceId, Path), WriteParams, MatchHeader),
    request_body = RosterSourceInput,
    responses(
        (status = 201, description = "Set up under the new id", body = RosterSourceAnswer),
        (status = 200, description = "Unchanged, or changed", body = RosterSourceAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/roster/sources/{source_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, RosterSourceId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    let reach = app.config.webhook_reach();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let Some(current) = roster_sources::find(change.conn, tenant, id)? else {
            if roster_sources::is_taken(change.conn, tenant, id)? {
                return Err(Problem::new(Code::IdTaken, "That source was deleted."));
            }
            sent.require_absent()?;
            let input: RosterSourceInput = sent.json()?;
            let answer = service::create(change, id, &input, reach)?;
            return Reply::created(location(club, id), answer.version, &answer);
        };
        let before = current.version;
        sent.put_precondition(before)?;
        let input: RosterSourceInput = sent.json()?;
        let answer = service::replace(change, &current, &input, reach)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
