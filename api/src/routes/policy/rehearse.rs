//! `POST …/policy/rehearsals`.

use actix_web::http::header;
use actix_web::{HttpResponse, post, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::rehearsal::{Plan, RehearsalAnswer, RehearsalInput};
use crate::services::zones;
use crate::web::refusals::QuestionRefusals;
use crate::web::write::WriteRequest;

type Needed = right::ApprovePolicy;

/// Rehearse a policy
///
/// Counts the findings that a draft, stored or sent, would have raised in weeks that are over, by rule, squad and week,
/// beside those of the policies in force, on the same data. Counts only; nothing is stored.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "rehearse_policy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body = RehearsalInput,
    responses(
        (status = 200, description = "What it would have raised", body = RehearsalAnswer),
        QuestionRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/policy/rehearsals")]
pub async fn rehearse(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<HttpResponse, Problem> {
    let input: RehearsalInput = request.json()?;
    let (tenant, now) = (scope.caller.tenant, app.clock.now());
    let answer = app
        .store
        .read(tenant, move |conn| {
            let today = zones::club_date(conn, tenant, now)?;
            let plan = Plan::check(conn, tenant, &input, today)?;
            plan.run(conn, tenant, now)
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}
