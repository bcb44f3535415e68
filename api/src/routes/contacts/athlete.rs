//! `GET …/athletes/{athlete_id}/contacts`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::answer::AthleteContacts;
use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::contacts::athlete;
use crate::services::{figures, reach, zones};
use crate::store::Conn;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Weeks shown unless said otherwise.
const WEEKS: i64 = 4;

/// Which days are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ContactsQuery {
    /// First date; 27 days before `to` unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-09-07")]
    from: Option<String>,
    /// Last date; today at home unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-09-13")]
    to: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// Read landings and throws
///
/// What was counted in the sessions of some dates, session by session and in all, the time since the last session with jumps, and what the
/// club's rules on both say. Nothing else is known of landings: sessions that nobody counted are numbered. The family sees the counts,
/// and no limit. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_contacts",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), ContactsQuery),
    responses((status = 200, description = "The counts", body = AthleteContacts), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/contacts")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<ContactsQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, athlete_id, &query.0, as_of)
    })
    .await?;
    app.audit
        .record_shown(&app, &scope.caller, "read_contacts", [athlete_id])
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
    query: &ContactsQuery,
    as_of: AsOf,
) -> Result<AthleteContacts, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    let athlete = reach::athlete(conn, caller, athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, known)?.content;
    let today = as_of.today(&zones::home(conn, tenant, &athlete)?);
    let dates = (query.from.as_deref(), query.to.as_deref());
    let dates = range::past_dates(dates, today, WEEKS)?;
    let found = athlete::read(conn, tenant, athlete_id, dates, known)?;
    // The family sees the counts, and no limit to aim at.
    let sees_limits = caller.principal.role.allows(Scope::ReadPolicy);
    AthleteContacts::new(&found, (athlete_id, dates), as_of.at(), sees_limits)
}
