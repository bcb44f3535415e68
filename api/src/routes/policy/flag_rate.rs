//! `GET …/policy/flag-rate`.

use actix_web::{HttpRequest, HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Problem, ProblemBody};
use crate::ids::ClubId;
use crate::pages;
use crate::services::policy::flag_rate::{self, FlagRateAnswer};
use crate::web::refusals::ReadRefusals;
use crate::web::{accept, reply};

type Needed = right::ApprovePolicy;

/// Read how many findings the policy brings
///
/// New findings a week per 15 athletes over the last eight closed weeks, in all and by rule, beside the budget of three.
/// Counts only. By `Accept` also as a page to read and print.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_flag_rate",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The rate", content(
            (FlagRateAnswer = "application/json"),
            (String = "text/html"),
        )),
        (status = 406, description = "The rate is not to be had as what `Accept` asks for", body = ProblemBody,
            content_type = "application/problem+json"),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/flag-rate")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    request: HttpRequest,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let sent_as = accept::preferred(&request, &["application/json", "text/html"])?;
    let tenant = scope.caller.tenant;
    let answer = app
        .store
        .read(tenant, move |conn| flag_rate::read(conn, tenant))
        .await?;
    let is_page = sent_as == "text/html";
    let mut head = reply::represented(is_page);
    Ok(match is_page {
        true => head.body(pages::flag_rate::write(&answer)),
        false => head.json(answer),
    })
}
