//! `GET …/pain-reports`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use plimsoll_domain::consent::DataClass;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, PainReportId};
use crate::services::consents::gate;
use crate::services::pain_reports::PainReportAnswer;
use crate::services::reach;
use crate::store::pain_reports;
use crate::web::page::PageRequest;
use crate::web::params::DayParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadPain;

/// A page of pain reports, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct PainReportPage {
    /// The entries.
    pub items: Vec<PainReportAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List pain reports
///
/// Those of days between from and to; to athletic trainers those of athletes whose families have consented. The read of each athlete shown, or of the one asked for, is entered in the audit list before it
/// is answered.
#[utoipa::path(
    tag = "Pain reports",
    operation_id = "list_pain_reports",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), DayParams),
    responses(
        (status = 200, description = "A page", body = PainReportPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/pain-reports")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<DayParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0.read()?;
    let page = PageRequest::<PainReportId>::new(
        query.0.limit.as_deref(),
        query.0.after.as_deref(),
        format!("{asked:?}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let clock = app.clock.now();
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, asked.athlete)?;
            let (tenant, dates) = (caller.tenant, (asked.from, asked.to));
            let reached = match caller.principal.role.is_family() {
                true => reached,
                false => gate::listed(
                    conn,
                    tenant,
                    (reached, asked.athlete),
                    DataClass::Pain,
                    clock,
                )?,
            };
            Ok::<_, Problem>(pain_reports::page(
                conn,
                tenant,
                reached.who(),
                dates,
                after,
                fetch,
            )?)
        })
        .await?;
    let page = page.page(rows, |row| row.content.pain_report_id);
    let shown = page.items.iter().map(|row| row.content.athlete_id);
    app.audit
        .record_shown(
            &app,
            &scope.caller,
            "list_pain_reports",
            shown.chain(asked.athlete),
        )
        .await?;
    page.map(PainReportAnswer::from).answer(&request)
}
