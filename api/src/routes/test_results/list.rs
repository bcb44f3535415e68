//! `GET …/tests`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use plimsoll_domain::consent::DataClass;
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, TestResultId};
use crate::services::consents::gate;
use crate::services::reach;
use crate::services::test_results::TestResultAnswer;
use crate::store::test_results;
use crate::web::page::PageRequest;
use crate::web::params::DayParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadTests;

/// A page of results, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct TestResultPage {
    /// The results.
    pub items: Vec<TestResultAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List results of tests
///
/// Those of days between from and to, of athletes whose families have not withdrawn or withheld their consent; asked about another one
/// it is refused. The read of each athlete shown, or of the one asked for, is entered in the audit list before it is answered, and so
/// is a refusal.
#[utoipa::path(
    tag = "Tests",
    operation_id = "list_test_results",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), DayParams),
    responses(
        (status = 200, description = "A page", body = TestResultPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/tests")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<DayParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0.read()?;
    let page = PageRequest::<TestResultId>::new(
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
            let reached = (reached, asked.athlete);
            let reached = gate::listed(conn, tenant, reached, DataClass::Tests, clock)?;
            Ok::<_, Problem>(test_results::page(
                conn,
                tenant,
                reached.who(),
                dates,
                after,
                fetch,
            )?)
        })
        .await?;
    let page = page.page(rows, |row| row.content.test_result_id);
    let shown = page.items.iter().map(|row| row.content.athlete_id);
    app.audit
        .record_shown(
            &app,
            &scope.caller,
            "list_test_results",
            shown.chain(asked.athlete),
        )
        .await?;
    page.map(TestResultAnswer::from).answer(&request)
}
