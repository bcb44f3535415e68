//! `POST …/licences`.

use actix_web::{post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::licences::{self, LicenceAnswer, LicenceInput};
use crate::services::write;
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteLicences;

/// Put a clinician's licence on file
///
/// While it is on file and holds, its subject may set restrictions and record clearances in the role
/// athletic_trainer. The club has seen the licence; the service checks it with no register.
#[utoipa::path(
    tag = "Clinical",
    operation_id = "create_licence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = LicenceInput,
    responses(
        (status = 201, description = "On file", body = LicenceAnswer,
            headers(("ETag", description = "The version"), ("Location", description = "Where it is"))),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/licences")]
pub async fn create(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let input: LicenceInput = request.json()?;
    if !request.dry_run {
        let action = "create_licence";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let answer = licences::enter(change, &input)?;
        let location = format!("/v1/clubs/{club}/licences/{}", answer.licence_id);
        Reply::created(location, answer.version, &answer)
    })
    .await
}
