//! `GET …/tests/{test_result_id}`.

use actix_web::{HttpResponse, get, web};
use plimsoll_domain::consent::DataClass;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, TestResultId};
use crate::services::audit::Reading;
use crate::services::consents::gate;
use crate::services::test_results::{self, TestResultAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadTests;

/// Read the result of a test
///
/// Refused where the family has withdrawn or withheld its consent. The read is entered in the audit list before it is answered, and so
/// is a refusal.
#[utoipa::path(
    tag = "Tests",
    operation_id = "read_test_result",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("test_result_id" = TestResultId, Path)),
    responses(
        (status = 200, description = "The entry", body = TestResultAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/tests/{test_result_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, TestResultId)>,
) -> Result<HttpResponse, Problem> {
    let (_, id) = path.into_inner();
    let (caller, clock) = (scope.caller.clone(), app.clock.now());
    let entry = app
        .store
        .read(caller.tenant, move |conn| {
            let entry = test_results::find(conn, &caller, id)?;
            let asked = (entry.content.athlete_id, DataClass::Tests);
            gate::require(conn, caller.tenant, asked, clock)?;
            Ok::<_, Problem>(entry)
        })
        .await;
    let entry = entry?;
    let reading = Reading {
        athlete: entry.content.athlete_id,
        action: "read_test_result",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(entry.version.number, &TestResultAnswer::from(entry)))
}
