//! `GET …/athletes/{athlete_id}/sharing-links`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, LinkId};
use crate::services::audit::Reading;
use crate::services::consents;
use crate::services::sharing::links::SharingLinkAnswer;
use crate::store::sharing_links;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadConsents;

/// A page of links, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct SharingLinkPage {
    /// The links.
    pub items: Vec<SharingLinkAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List the organisations an athlete trains with elsewhere
///
/// As her family named them, and whether they share. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Consents",
    operation_id = "list_sharing_links",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = SharingLinkPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/sharing-links")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<LinkId>::new(limit, after, athlete.to_string())?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            consents::subject(conn, &caller, athlete)?;
            let tenant = caller.tenant;
            Ok::<_, Problem>(sharing_links::page(conn, tenant, athlete, after, fetch)?)
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "list_sharing_links",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    page.page(rows, |row| row.link_id)
        .map(SharingLinkAnswer::from)
        .answer(&request)
}
