//! `GET …/injuries`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, InjuryId};
use crate::services::injuries::InjuryAnswer;
use crate::services::reach;
use crate::store::injuries;
use crate::web::page::PageRequest;
use crate::web::params::DayParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadTests;

/// A page of injuries, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct InjuryPage {
    /// The entries.
    pub items: Vec<InjuryAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List injuries
///
/// Those of days between from and to. The read of each athlete shown, or of the one asked for, is entered in the audit list before it
/// is answered.
#[utoipa::path(
    tag = "Tests",
    operation_id = "list_injuries",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), DayParams),
    responses(
        (status = 200, description = "A page", body = InjuryPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/injuries")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<DayParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0.read()?;
    let page = PageRequest::<InjuryId>::new(
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
            Ok::<_, Problem>(injuries::page(
                conn,
                tenant,
                reached.who(),
                dates,
                after,
                fetch,
            )?)
        })
        .await?;
    let page = page.page(rows, |row| row.content.injury_id);
    let shown = page.items.iter().map(|row| row.content.athlete_id);
    app.audit
        .record_shown(
            &app,
            &scope.caller,
            "list_injuries",
            shown.chain(asked.athlete),
        )
        .await?;
    page.map(InjuryAnswer::from).answer(&request)
}
