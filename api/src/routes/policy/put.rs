//! `PUT …/policy`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::adopt::{self, PolicyAnswer, Signatures};
use crate::services::policy::body::PolicyBody;
use crate::services::write;
use crate::store::policies;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WritePolicy;

/// Set the policy
///
/// Appends a version; earlier ones keep governing the dates before it. The first policy may be
/// effective from any date, a later one never from before today. The content of the latest version
/// again is answered 200 and changes nothing. Where the latest version says `second_approver: required`,
/// another one comes from a draft that a second person approves, and this call is refused (409).
#[utoipa::path(
    tag = "Clubs",
    operation_id = "put_policy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = PolicyBody,
    responses(
        (status = 201, description = "The club's first policy", body = PolicyAnswer),
        (status = 200, description = "Unchanged, or a new version", body = PolicyAnswer),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/policy")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let club = path.into_inner();
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let latest = policies::latest(change.conn, change.caller.tenant)?;
        let signatures = Signatures {
            author: &change.caller.principal.subject,
            approver: None,
        };
        let Some(before) = latest.as_ref().map(|latest| latest.version) else {
            sent.require_absent()?;
            let answer = adopt::adopt(change, &sent.json()?, None, signatures)?;
            let location = format!("/v1/clubs/{club}/policy");
            return Reply::created(location, answer.version, &answer);
        };
        sent.put_precondition(before)?;
        let answer = adopt::adopt(change, &sent.json()?, latest, signatures)?;
        sent.after_put(before, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
