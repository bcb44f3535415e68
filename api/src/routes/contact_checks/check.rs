//! `POST …/contact-checks`.

use actix_web::http::header;
use actix_web::{HttpResponse, post, web};

use super::answer::ContactCheckAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::as_of;
use crate::services::contact_checks::{self, ContactCheckInput};
use crate::web::refusals::QuestionRefusals;
use crate::web::write::WriteRequest;

type Needed = right::CheckPlans;

/// Check landing contacts
///
/// What planned items come to in landings by foot and by leg, in landings on hands and in metres, and what the club's rules on jumps say.
/// Of a stored programme they are told by session and by week, with the time between sessions with jumps: sure where starts and minutes are
/// said, else between two. Nothing is stored. Where an athlete is named, loaded jumps are taken only after their sign-off, and the read of her sign-offs is entered
/// in the audit list. For coaches alone; numbers within the limits show nobody to be safe.
#[utoipa::path(
    tag = "Plans",
    operation_id = "check_contacts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body = ContactCheckInput,
    responses((status = 200, description = "What they come to", body = ContactCheckAnswer), QuestionRefusals)
)]
#[post("/v1/clubs/{club_id}/contact-checks")]
pub async fn check(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<HttpResponse, Problem> {
    let input: ContactCheckInput = request.json()?;
    let athlete = contact_checks::athlete(&input)?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let found = as_of::read(&app, tenant, None, move |conn, as_of| {
        contact_checks::check(conn, &caller, &input, as_of)
    })
    .await?;
    app.audit
        .record_shown(&app, &scope.caller, "check_contacts", athlete)
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(ContactCheckAnswer::new(&found)))
}
