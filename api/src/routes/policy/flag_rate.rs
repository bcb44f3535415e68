//! `GET …/policy/flag-rate`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::policy::flag_rate::{self, FlagRateAnswer};
use crate::web::refusals::ReadRefusals;

type Needed = right::ApprovePolicy;

/// Read how many findings the policy brings
///
/// New findings a week per 15 athletes over the last eight closed weeks, in all and by rule, beside the budget of three.
/// Counts only.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "read_flag_rate",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The rate", body = FlagRateAnswer),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/flag-rate")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let tenant = scope.caller.tenant;
    let answer = app
        .store
        .snapshot(move |conn| flag_rate::read(conn, tenant))
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}
