//! `GET …/squads/{squad_id}/members`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::services::members::{self, MemberAnswer};
use crate::services::zones;
use crate::web::page::PageRequest;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadSquads;

/// Which members are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct MemberQuery {
    /// Members on this date; today in the club's zone unless given.
    #[param(value_type = Option<String>, format = Date)]
    on: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of members, by athlete.
#[derive(Debug, Serialize, ToSchema)]
pub struct MemberPage {
    /// The members.
    pub items: Vec<MemberAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List the members of a squad
///
/// On one date. A coach who is limited to squads sees those who are members of these now.
#[utoipa::path(
    tag = "People",
    operation_id = "list_members",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), MemberQuery),
    responses(
        (status = 200, description = "A page", body = MemberPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/members")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    query: Query<MemberQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id) = path.into_inner();
    let (query, now) = (query.0, app.clock.now());
    let on = query.on.as_deref();
    let on = on.map(|text| range::date("?on", text)).transpose()?;
    let filter = format!("{squad_id} {on:?}");
    let page =
        PageRequest::<AthleteId>::new(query.limit.as_deref(), query.after.as_deref(), filter)?;
    let mut members = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let on = match on {
                Some(on) => on,
                None => zones::club_date(conn, scope.caller.tenant, now)?,
            };
            members::on_date(conn, &scope.caller, squad_id, on)
        })
        .await?;
    // On one date an athlete is a member once, and a squad fits into memory.
    members.retain(|member| page.after.is_none_or(|after| member.athlete_id > after));
    page.page(members, |member| member.athlete_id)
        .answer(&request)
}
