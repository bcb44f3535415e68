//! `DELETE …/pain-reports/{pain_report_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PainReportId};
use crate::services::{pain_reports, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePain;

/// Take a pain report back
///
/// It is not shown any more; a tombstone is kept.
#[utoipa::path(
    tag = "Pain reports",
    operation_id = "delete_pain_report",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("pain_report_id" = PainReportId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/pain-reports/{pain_report_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PainReportId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = pain_reports::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        pain_reports::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
