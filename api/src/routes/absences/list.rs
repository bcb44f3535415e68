//! `GET …/absences`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AbsenceId, ClubId};
use crate::services::absences::AbsenceAnswer;
use crate::services::audit::Reading;
use crate::services::reach;
use crate::store::absences;
use crate::web::page::PageRequest;
use crate::web::params::DayParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadDays;

/// A page of absences, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct AbsencePage {
    /// The entries.
    pub items: Vec<AbsenceAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List absences
///
/// Within the caller's reach, those with a day between from and to. Asked for one athlete, the read is entered in the audit list
/// before it is answered.
#[utoipa::path(
    tag = "Days",
    operation_id = "list_absences",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), DayParams),
    responses(
        (status = 200, description = "A page", body = AbsencePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/absences")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<DayParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0.read()?;
    let page = PageRequest::<AbsenceId>::new(
        query.0.limit.as_deref(),
        query.0.after.as_deref(),
        format!("{asked:?}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, asked.athlete)?;
            let (tenant, dates) = (caller.tenant, (asked.from, asked.to));
            Ok::<_, Problem>(absences::page(
                conn,
                tenant,
                reached.who(),
                dates,
                after,
                fetch,
            )?)
        })
        .await?;
    if let Some(athlete) = asked.athlete {
        let reading = Reading {
            athlete,
            action: "list_absences",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |row| row.content.absence_id)
        .map(AbsenceAnswer::from)
        .answer(&request)
}
