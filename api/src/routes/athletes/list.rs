//! `GET …/athletes`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::services::athletes::{AthleteAnswer, answer};
use crate::services::{fields, other_keys, reach, text};
use crate::store::athletes::{self, Athlete};
use crate::store::{Conn, Versioned, Who, memberships};
use crate::web::page::{Page, PageRequest};
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadAthletes;

/// Which athletes are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AthleteQuery {
    /// Whose key in the roster is this.
    external_id: Option<String>,
    /// Who is a member of this squad now.
    #[param(value_type = Option<SquadId>)]
    squad: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of athletes, by id.
#[derive(Debug, Serialize, ToSchema)]
pub struct AthletePage {
    /// The athletes.
    pub items: Vec<AthleteAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List athletes
///
/// Everyone within the caller's reach.
#[utoipa::path(
    tag = "People",
    operation_id = "list_athletes",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), AthleteQuery),
    responses(
        (status = 200, description = "A page", body = AthletePage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<AthleteQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let squad = query.squad.as_deref().map(range::squad).transpose()?;
    let external_id = query.external_id;
    if let Some(given) = &external_id {
        text::line("?external_id", given, fields::LINE).map_err(bad)?;
    }
    let filter = format!("{external_id:?} {squad:?}");
    let page =
        PageRequest::<AthleteId>::new(query.limit.as_deref(), query.after.as_deref(), filter)?;
    let answers: Page<AthleteAnswer> = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let caller = &scope.caller;
            let rows = match &external_id {
                Some(external_id) => named(conn, caller, external_id, squad)?,
                None => listed(conn, caller, squad, &page)?,
            };
            let Page { items, next } = page.page(rows, |row| row.content.athlete_id);
            let items = answer::answers(conn, caller, items)?;
            Ok::<_, Problem>(Page { items, next })
        })
        .await?;
    answers.answer(&request)
}

fn listed(
    conn: &mut Conn,
    caller: &Caller,
    squad: Option<SquadId>,
    page: &PageRequest<AthleteId>,
) -> Result<Vec<Versioned<Athlete>>, Problem> {
    let (tenant, after, fetch) = (caller.tenant, page.after, page.fetch());
    if let Some(squad) = squad {
        reach::squad(conn, caller, squad)?;
        let members = Who::Squads(&[squad], caller.asked_on);
        return Ok(athletes::page(conn, tenant, members, after, fetch)?);
    }
    let reached = reach::of(conn, caller)?;
    Ok(athletes::page(conn, tenant, reached.who(), after, fetch)?)
}

/// The one athlete of an external id, if she is within reach and in the squad asked for.
fn named(
    conn: &mut Conn,
    caller: &Caller,
    external_id: &str,
    squad: Option<SquadId>,
) -> Result<Vec<Versioned<Athlete>>, Problem> {
    let tenant = caller.tenant;
    let reached = reach::of(conn, caller)?;
    let found = other_keys::named(conn, tenant, &[external_id])?;
    let mut found: Vec<_> = found.into_iter().map(|one| one.athlete).collect();
    found.retain(|one| reached.includes(one.content.athlete_id));
    if let Some(squad) = squad {
        reach::squad(conn, caller, squad)?;
        let members = memberships::athletes_of_squads(conn, tenant, &[squad], caller.asked_on)?;
        found.retain(|one| members.contains(&one.content.athlete_id));
    }
    Ok(found)
}
