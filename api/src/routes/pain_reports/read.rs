//! `GET …/pain-reports/{pain_report_id}`.

use actix_web::{HttpResponse, get, web};
use plimsoll_domain::consent::DataClass;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PainReportId};
use crate::services::audit::Reading;
use crate::services::consents::gate;
use crate::services::pain_reports::{self, PainReportAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadPain;

/// Read a pain report
///
/// By athlete and guardian, and by athletic trainers where her family has consented. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Pain reports",
    operation_id = "read_pain_report",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("pain_report_id" = PainReportId, Path)),
    responses(
        (status = 200, description = "The entry", body = PainReportAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/pain-reports/{pain_report_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, PainReportId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let caller = scope.caller.clone();
    let clock = app.clock.now();
    let entry = app
        .store
        .read(caller.tenant, move |conn| {
            let found = pain_reports::find(conn, &caller, id)?;
            if !caller.principal.role.is_family() {
                let asked = (found.content.athlete_id, DataClass::Pain);
                gate::require(conn, caller.tenant, asked, clock)?;
            }
            Ok::<_, Problem>(found)
        })
        .await?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_pain_report",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &PainReportAnswer::from(entry)))
}
