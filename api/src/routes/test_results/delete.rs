//! `DELETE …/tests/{test_result_id}`.

use actix_web::{delete, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, TestResultId};
use crate::services::{test_results, write};
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteTests;

/// Take a result back
///
/// It is compared with nothing any more; a tombstone is kept. Who only measures takes back what she entered.
#[utoipa::path(
    tag = "Tests",
    operation_id = "delete_test_result",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("test_result_id" = TestResultId, Path), WriteParams, MatchHeader),
    responses((status = 204, description = "Taken back"), WriteRefusals)
)]
#[delete("/v1/clubs/{club_id}/tests/{test_result_id}")]
pub async fn delete(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, TestResultId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (_, id) = path.into_inner();
    let conditions = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let current = test_results::find(change.conn, change.caller, id)?;
        conditions.require_match(current.version.number)?;
        test_results::remove(change, current)?;
        Ok(Reply::empty())
    })
    .await
}
