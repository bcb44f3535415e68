//! `GET …/rest-days`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, RestDayId};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::services::rest_days::RestDayAnswer;
use crate::store::rest_days;
use crate::web::page::PageRequest;
use crate::web::params::DayParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadDays;

/// A page of rest days, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct RestDayPage {
    /// The entries.
    pub items: Vec<RestDayAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List rest days
///
/// Within the caller's reach. Asked for one athlete, the read is entered in the audit list
/// before it is answered.
#[utoipa::path(
    tag = "Days",
    operation_id = "list_rest_days",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), DayParams),
    responses(
        (status = 200, description = "A page", body = RestDayPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/rest-days")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<DayParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let asked = query.0.read()?;
    let page = PageRequest::<RestDayId>::new(
        query.0.limit.as_deref(),
        query.0.after.as_deref(),
        format!("{asked:?}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, asked.athlete)?;
            let (tenant, dates) = (caller.tenant, (asked.from, asked.to));
            Ok::<_, Problem>(rest_days::page(
                conn,
                tenant,
                reached.who(),
                dates,
                after,
                fetch,
            )?)
        })
        .await?;
    if let Some(athlete) = asked.athlete {
        let reading = Reading {
            athlete,
            action: "list_rest_days",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |row| row.content.rest_day_id)
        .map(RestDayAnswer::from)
        .answer(&request)
}
