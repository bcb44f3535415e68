//! `GET …/consent-gaps`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::consents::gaps::{self, ConsentGaps};
use crate::web::refusals::ReadRefusals;

type Needed = right::OverseeConsents;

/// List what flowed without consent
///
/// Reads of the last 31 days, taken from the audit list, of data that a family had withdrawn, had limited to another time, or had not
/// been asked about though the club says that it has to be. What was being read when a consent ended is none, for a minute. It has
/// to be empty: such reads are refused.
#[utoipa::path(
    tag = "Consents",
    operation_id = "list_consent_gaps",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "What was looked at, and what it should not have been", body = ConsentGaps),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/consent-gaps")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let (tenant, clock) = (scope.caller.tenant, app.clock.now());
    let found = app
        .store
        .read(tenant, move |conn| gaps::read(conn, tenant, clock))
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(found))
}
