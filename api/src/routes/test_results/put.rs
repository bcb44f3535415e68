//! `PUT …/tests/{test_result_id}`.

use actix_web::{put, web};

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, TestResultId};
use crate::services::test_results::{self as service, TestResultAnswer, TestResultInput};
use crate::services::write;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteTests;

/// Put the result of a test
///
/// Stores a result under an id of the caller's making (UUIDv7), or replaces the one that is there; who only measures replaces what she
/// entered. Identical content needs no `If-Match` and is answered 200; other content does.
#[utoipa::path(
    tag = "Tests",
    operation_id = "put_test_result",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("test_result_id" = TestResultId, Path), WriteParams, MatchHeader),
    request_body = TestResultInput,
    responses(
        (status = 201, description = "Stored under the new id", body = TestResultAnswer),
        (status = 200, description = "Unchanged, or a new version", body = TestResultAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/tests/{test_result_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, TestResultId)>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let answer = match service::stored(change.conn, change.caller, id)? {
            Some(current) if !current.version.deleted => {
                let before = current.version.number;
                sent.put_precondition(before)?;
                let answer = service::replace(change, current, &sent.json()?)?;
                sent.after_put(before, answer.version)?;
                return Reply::ok(answer.version, &answer);
            }
            Some(tombstone) => {
                sent.require_absent()?;
                service::replace(change, tombstone, &sent.json()?)?
            }
            None => {
                sent.require_absent()?;
                service::insert(change, id, &sent.json::<TestResultInput>()?)?
            }
        };
        Reply::created(location(club, id), answer.version, &answer)
    })
    .await
}
