//! `POST …/flags/{flag_id}/acknowledgement`.

use actix_web::{post, web};

use super::answer::FlagAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, FlagId};
use crate::services::acknowledgement::{self, AcknowledgementInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::AcknowledgeFlags;

/// Acknowledge a flag
///
/// Says what was done about it. When the flag is judged anew it is open again; in the weekly list it counts as acknowledged until
/// it grows: becomes certain, or lies further above its limit.
#[utoipa::path(
    tag = "Figures",
    operation_id = "acknowledge_flag",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("flag_id" = FlagId, Path), WriteParams, KeyHeader),
    request_body = AcknowledgementInput,
    responses((status = 201, description = "The flag as it now is", body = FlagAnswer), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/flags/{flag_id}/acknowledgement")]
pub async fn acknowledge(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, FlagId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, flag_id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let found = acknowledgement::find(change, flag_id)?;
        let acknowledgements = acknowledgement::store(change, &found, &sent.json()?)?;
        Reply::json(201, &FlagAnswer::new(found, &acknowledgements)?)
    })
    .await
}
