//! `DELETE …/athletes/{athlete_id}/holds/{hold_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, HoldId};
use crate::services::retention::holds::{self, LiftInput};
use crate::services::{reach, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::SetRetention;

/// Lift a hold
///
/// With one of a list of reasons. What is due of her then goes on the next night on which it is, as for everybody.
#[utoipa::path(
    tag = "Retention",
    operation_id = "delete_hold",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ("hold_id" = HoldId, Path), WriteParams, MatchHeader,
    ),
    request_body = LiftInput,
    responses((status = 204, description = "Lifted"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/athletes/{athlete_id}/holds/{hold_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId, HoldId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete, id) = path.into_inner();
    let sent = request.clone();
    if !request.dry_run {
        let action = "delete_hold";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        reach::athlete_of_club(change.conn, tenant, athlete)?;
        let current = holds::find(change.conn, tenant, (athlete, id))?;
        sent.require_match(current.version.number)?;
        let input: LiftInput = sent.json_or_default()?;
        holds::lift(change, &current, &input)?;
        Ok(Reply::empty())
    })
    .await
}
