//! `GET …/athletes/{athlete_id}/consents`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::services::audit::Reading;
use crate::services::consents::{self as service, ConsentAnswer, gate};
use crate::store::consents;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadConsents;

/// A page of consents, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct ConsentPage {
    /// The consents.
    pub items: Vec<ConsentAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List an athlete's consents
///
/// Everything that was ever consented to for her, the earliest first, with what was withdrawn. For her guardians, for herself at any
/// age, and for the privacy lead. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Consents",
    operation_id = "list_consents",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = ConsentPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/consents")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<ConsentId>::new(limit, after, athlete.to_string())?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let clock = app.clock.now();
    let (rows, now) = app
        .store
        .read(scope.caller.tenant, move |conn| {
            service::subject(conn, &caller, athlete)?;
            let rows = consents::page(conn, caller.tenant, athlete, after, fetch)?;
            Ok::<_, Problem>((rows, gate::instant(conn, caller.tenant, clock)?))
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "list_consents",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    page.page(rows, |row| row.content.consent_id)
        .map(|row| ConsentAnswer::new(row, now))
        .answer(&request)
}
