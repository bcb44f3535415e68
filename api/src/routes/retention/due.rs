//! `GET …/retention/due`.

use actix_web::{HttpRequest, HttpResponse, get, web};

use super::answer::{DueCounts, DueOfAthlete, DuePage, LastRun};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::retention::{next_run, words};
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;

type Needed = right::SetRetention;

/// List what is due for erasure
///
/// Of athletes whose last membership has ended and whose terms are over by the next run, as long as there still are such records: what
/// goes then, what goes a night later, and what a hold keeps. Ids and classes alone. Somebody who never was in a squad has not left one.
#[utoipa::path(
    tag = "Retention",
    operation_id = "list_retention_due",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "A page", body = DuePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/retention/due")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<AthleteId>::new(limit, after, "retention due")?;
    let (tenant, now) = (scope.caller.tenant, app.clock.now());
    let mut run = app
        .store
        .read(tenant, move |conn| next_run::read(conn, tenant, now))
        .await?;
    let counts = DueCounts::of(&run);
    let (next_run, last_run) = (run.night, run.last.take().map(LastRun::from));
    let mut rows = run.due;
    rows.retain(|leaver| page.after.is_none_or(|after| after < leaver.athlete_id));
    rows.truncate(page.limit.saturating_add(1));
    let page = page.page(rows, |leaver| leaver.athlete_id);
    let page = page.map(DueOfAthlete::from);
    Ok(page.answer_within(&request, |page| DuePage {
        next_run,
        counts,
        last_run,
        items: page.items,
        next: page.next,
        note: words::LOCAL_LAW,
    }))
}
