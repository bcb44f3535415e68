//! `GET …/audit`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, AuditId, ClubId};
use crate::store::audit::{self, AuditRead};
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadAudit;

/// Which reads are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AuditQuery {
    /// Of this athlete's record.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of reads, the earliest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct AuditPage {
    /// The reads.
    pub items: Vec<AuditAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// One read of one athlete's record.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "at": "2026-09-14T05:00:12.512Z", "subject": "coach-3", "client": "club-app",
    "role": "coach", "purpose": null, "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "action": "read_load", "outcome": "read", "request_id": "0199a1b2-9999-7e4f-8a5b-6c7d8e9f0a1b"}))]
pub struct AuditAnswer {
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// Who.
    pub subject: String,
    /// Through which client.
    pub client: String,
    /// In which role.
    pub role: String,
    /// What for, where that was asked.
    pub purpose: Option<String>,
    /// Whose record; null for a setting, a change that was asked for and a refusal.
    pub athlete_id: Option<AthleteId>,
    /// The operation, by its id in this document; of a refusal method and path.
    pub action: String,
    /// What came of it: read; asked for a change of a setting or a clinician's record; or refused, where the role has no right to
    /// one athlete's record or a clinician's, or where the record is absent or out of reach, which is not told apart.
    pub outcome: String,
    /// The request, as in `X-Request-Id` and in the log.
    pub request_id: String,
}

impl From<AuditRead> for AuditAnswer {
    fn from(read: AuditRead) -> Self {
        Self {
            at: read.at,
            subject: read.subject,
            client: read.client,
            role: read.acting_role,
            purpose: read.purpose,
            athlete_id: read.athlete_id,
            action: read.action,
            outcome: read.outcome,
            request_id: read.request_id,
        }
    }
}

/// List who read whose record
///
/// In the order of time, for whoever answers for the club's personal data.
#[utoipa::path(
    tag = "People",
    operation_id = "list_audit",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), AuditQuery),
    responses(
        (status = 200, description = "A page", body = AuditPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/audit")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<AuditQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let (limit, filter) = (query.limit.as_deref(), format!("{athlete:?}"));
    let page = PageRequest::<AuditId>::new(limit, query.after.as_deref(), filter)?;
    let (after, fetch) = (page.after, page.fetch());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            audit::page(conn, scope.caller.tenant, athlete, after, fetch)
        })
        .await?;
    page.page(rows, |row| row.audit_id)
        .map(AuditAnswer::from)
        .answer(&request)
}
