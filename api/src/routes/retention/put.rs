//! `PUT …/retention`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::retention::settings::{self, RetentionAnswer, RetentionInput};
use crate::services::write;
use crate::store::Known;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::SetRetention;

/// Set how long the club keeps what
///
/// Days are counted from the day after an athlete's last membership ended; while she is a member nothing is due. What is due by new
/// terms is listed for a night (`list_retention_due`) before it is erased. What is erased does not come back. Local law decides how
/// long records may and must be kept; the club's own counsel knows. What the club calls its records changes wording alone.
#[utoipa::path(
    tag = "Retention",
    operation_id = "put_retention",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = RetentionInput,
    responses(
        (status = 200, description = "As they now are", body = RetentionAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/retention")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    if !request.dry_run {
        let action = "put_retention";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let before = settings::known(change.conn, tenant, Known::Now)?;
        let version = settings::version(before.as_ref());
        sent.put_precondition(version)?;
        let input: RetentionInput = sent.json()?;
        let answer = settings::set(change, before, &input)?;
        sent.after_put(version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
