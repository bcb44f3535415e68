//! `POST …/clearance-records`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::clearances::{self, ClearanceAnswer, ClearanceInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteClinical;

/// Put a clinician's decision on record
///
/// By an athletic trainer with a licence on file, about somebody else; name and licence type come from the
/// file. The service clears nobody: the decision and its record belong to a licensed clinician under local
/// rules. A record is never changed or removed; another with the decision not_yet withdraws it. A restriction
/// that waits for a written clearance ends on the day decided on, where the record names it.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "create_clearance_record",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = ClearanceInput,
    responses(
        (status = 201, description = "On record", body = ClearanceAnswer,
            headers(("ETag", description = "Always 1"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/clearance-records")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, sent) = (path.into_inner(), request.clone());
    if !request.dry_run {
        let action = "create_clearance_record";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let input: ClearanceInput = sent.json()?;
        let answer = clearances::enter(change, &input)?;
        let location = format!("/v1/clubs/{club}/clearance-records/{}", answer.clearance_id);
        Reply::created(location, 1, &answer)
    })
    .await
}
