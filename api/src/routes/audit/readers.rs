//! `GET …/athletes/{athlete_id}/readers`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::auth::{Role, Scope};
use crate::error::Problem;
use crate::ids::{AthleteId, AuditId, ClubId};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::store::audit::{self, AuditRead};
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadReaders;

/// Which page.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ReadersQuery {
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of reads of one athlete's record, the latest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadersPage {
    /// The reads.
    pub items: Vec<ReaderAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// One read of the record.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "at": "2026-09-14T05:00:12.512Z", "role": "athletic_trainer", "purpose": "return_to_sport",
    "action": "read_history", "subject": null, "client": null}))]
pub struct ReaderAnswer {
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// In which role.
    pub role: String,
    /// What for, where that was asked.
    pub purpose: Option<String>,
    /// The operation, by its id in this document.
    pub action: String,
    /// Who, as in tokens; null but for the privacy lead.
    pub subject: Option<String>,
    /// Through which client; null but for the privacy lead.
    pub client: Option<String>,
}

impl ReaderAnswer {
    fn new(read: AuditRead, names_readers: bool) -> Self {
        let named = |text: String| names_readers.then_some(text);
        Self {
            at: read.at,
            role: read.acting_role,
            purpose: read.purpose,
            action: read.action,
            subject: named(read.subject),
            client: named(read.client),
        }
    }
}

/// List in which roles an athlete's record was read
///
/// The latest first, with purpose, operation and time: for the athlete and her guardians without who it was, for the privacy
/// lead with that. A list that was not asked about one athlete stands here where it is entered for each athlete it shows, as
/// the weekly list and clinicians' lists are; other lists of a squad or a club are not entered. Asking is entered too.
#[utoipa::path(
    tag = "People",
    operation_id = "list_readers",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ReadersQuery),
    responses(
        (status = 200, description = "A page", body = ReadersPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/readers")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<ReadersQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<AuditId>::new(limit, after, athlete_id.to_string())?;
    let (before, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            match caller.principal.role {
                // Reaches no record, and answers for who reads them all.
                Role::PrivacyLead => reach::athlete_of_club(conn, caller.tenant, athlete_id)?,
                _ => reach::athlete(conn, &caller, athlete_id)?,
            };
            let rows = audit::of_athlete(conn, caller.tenant, athlete_id, before, fetch);
            rows.map_err(Problem::from)
        })
        .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "list_readers",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    let names_readers = scope.caller.principal.may(Scope::ReadAudit);
    page.page(rows, |row| row.audit_id)
        .map(|read| ReaderAnswer::new(read, names_readers))
        .answer(&request)
}
