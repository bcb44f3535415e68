//! `GET …/sessions`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SessionId};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::services::sessions::{SessionAnswer, answers};
use crate::store::sessions::{self, SessionFilter};
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSessions;

/// Which reports are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SessionQuery {
    /// Of this athlete.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// First load date.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last load date.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of session reports, by start and id.
#[derive(Debug, Serialize, ToSchema)]
pub struct SessionPage {
    /// The reports.
    pub items: Vec<SessionAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List session reports
///
/// Current versions by start, within the caller's reach. Asked for one athlete, the read is entered
/// in the audit list first.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "list_sessions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), SessionQuery),
    responses(
        (status = 200, description = "A page", body = SessionPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/sessions")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<SessionQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let date = |name, text: &Option<String>| {
        text.as_deref()
            .map(|text| range::date(name, text))
            .transpose()
    };
    let (from, to) = (date("?from", &query.from)?, date("?to", &query.to)?);
    let filter = format!("{athlete:?} {from:?} {to:?}");
    let page = PageRequest::<(Timestamp, SessionId)>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        filter,
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let tenant = caller.tenant;
            let reached = reach::listed(conn, &caller, athlete)?;
            let filter = SessionFilter {
                who: reached.who(),
                from,
                to,
            };
            let rows = sessions::page(conn, tenant, filter, after, fetch)?;
            let answers = answers(conn, tenant, &rows)?;
            let keys = rows
                .iter()
                .map(|row| (row.content.started_at, row.content.session_id));
            Ok::<_, Problem>(keys.zip(answers).collect::<Vec<_>>())
        })
        .await?;
    if let Some(athlete) = athlete {
        let reading = Reading {
            athlete,
            action: "list_sessions",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |(key, _)| *key)
        .map(|(_, answer)| answer)
        .answer(&request)
}
