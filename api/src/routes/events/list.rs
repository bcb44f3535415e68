//! `GET …/events`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, EventId, SquadId};
use crate::services::audit::Reading;
use crate::services::events::EventAnswer;
use crate::services::reach::{self, Reached};
use crate::store::events::{self, EventFilter};
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSchedule;

/// Which events are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct EventQuery {
    /// First date.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last date.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// That invite this squad.
    #[param(value_type = Option<SquadId>)]
    squad: Option<String>,
    /// That invite this athlete, by squad or by name.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of events, by start and id.
#[derive(Debug, Serialize, ToSchema)]
pub struct EventPage {
    /// The events.
    pub items: Vec<EventAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List planned sessions
///
/// By start, those that invite one of the caller's squads or anybody within reach, cancelled ones
/// included. Asked for one athlete, the read is entered in the audit list first.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "list_events",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), EventQuery),
    responses(
        (status = 200, description = "A page", body = EventPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/events")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<EventQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let squad = query.squad.as_deref().map(range::squad).transpose()?;
    let (from, to) = range::open_dates(query.from.as_deref(), query.to.as_deref())?;
    let page = PageRequest::<(Timestamp, EventId)>::new(
        query.limit.as_deref(),
        query.after.as_deref(),
        format!("{athlete:?} {squad:?} {from} {to}"),
    )?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let rows = app
        .store
        .read(scope.caller.tenant, move |conn| {
            if let Some(squad) = squad {
                reach::squad(conn, &caller, squad)?;
            }
            let asked = match athlete {
                Some(athlete) => Some([reach::athlete(conn, &caller, athlete)?.content.athlete_id]),
                None => None,
            };
            let reached = reach::of(conn, &caller)?;
            let squads = reach::squads(conn, &caller)?.unwrap_or_default();
            let limit = match &reached {
                Reached::Everyone => None,
                Reached::Only(athletes) => Some((squads.as_slice(), athletes.as_slice())),
            };
            let filter = EventFilter {
                from,
                to,
                squad,
                invited: asked.as_ref().map(|asked| &asked[..]),
                reach: limit,
            };
            let rows = events::page(conn, caller.tenant, filter, after, fetch)?;
            let answer = |row| EventAnswer::new(row, &reached);
            let keyed = rows.into_iter().map(|row| {
                let key = (row.content.starts_at, row.content.event_id);
                Ok((key, answer(row)?))
            });
            keyed.collect::<Result<Vec<_>, Problem>>()
        })
        .await?;
    if let Some(athlete) = athlete {
        let reading = Reading {
            athlete,
            action: "list_events",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    page.page(rows, |(key, _)| *key)
        .map(|(_, answer)| answer)
        .answer(&request)
}
