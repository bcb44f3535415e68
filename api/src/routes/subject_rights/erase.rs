//! `POST …/athletes/{athlete_id}/erasure`: all that the club keeps of an athlete is erased.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::erasure::{self, ErasureAnswer, ErasureInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::EraseRecords;

/// What the audit list says of it.
const ACTION: &str = "erase_athlete";

/// Erase an athlete's records
///
/// At once and for good: every row of hers, the copies of her days in other clubs, and the answers that the club keeps for repeated requests,
/// which could repeat any of it. A repeated key of a request that was carried out is answered 409 `answer_erased` from then on, and the
/// work is not done again. Closed weeks of her squads give no figures about the group any more, or the difference would be hers.
///
/// What stays is told with its reason: the list of who read what, which holds ids and no names, and the entry of this erasure. On trial
/// it counts the same and erases nothing; that look is entered in the audit list.
#[utoipa::path(
    tag = "People",
    operation_id = "erase_athlete",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WriteParams, KeyHeader),
    request_body = ErasureInput,
    responses((status = 200, description = "Erased", body = ErasureAnswer), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/athletes/{athlete_id}/erasure")]
pub async fn erase(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, athlete) = path.into_inner();
    let (caller, sent) = (scope.caller, request.clone());
    if !request.dry_run {
        app.audit.record_change(&app, &caller, ACTION).await?;
    }
    let tenant = caller.tenant;
    let others = app
        .store
        .read(tenant, move |conn| {
            erasure::recipients(conn, tenant, athlete)
        })
        .await?;
    let work = move |change: &mut write::Change<'_>, besides: &mut [write::Beside]| {
        let input = || sent.json::<ErasureInput>();
        Reply::json(200, &erasure::erase(change, besides, athlete, input)?)
    };
    let reply = write::run_among(&app, caller.clone(), &request, others, work).await?;
    if request.dry_run {
        let reading = Reading {
            athlete,
            action: ACTION,
            purpose: None,
        };
        app.audit.record(&app, &caller, reading).await?;
    } else {
        erasure::finish(&app).await;
    }
    Ok(reply)
}
