//! `GET …/squads/{squad_id}/weeks/{week}/look-ahead`.

use std::collections::BTreeSet;

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use plimsoll_domain::IsoWeek;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::ahead::AheadEntry;
use super::squad::begun;
use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::services::as_of::{self, AsOf};
use crate::services::{look_ahead, reach, zones};
use crate::store::{Conn, memberships};
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// Which state of knowledge.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LookAheadQuery {
    /// What had been received and was still to come at this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: each entry with the arithmetic of what is done, which is the days the figures look back to with the sessions and
    /// sources they are made of, and the policy. What is still planned stands in the schedule.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
}

/// What is still planned of a week, judged as if it happened. A plan is an intention.
#[derive(Debug, Serialize, ToSchema)]
pub struct LookAheadAnswer {
    /// The squad.
    pub squad_id: SquadId,
    /// The week.
    #[schema(example = "2026-W47")]
    pub week: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy it was judged by; null where the club has none.
    pub policy_version: Option<u32>,
    /// Who will, or may, be over a limit if what is still planned happens.
    pub entries: Vec<AheadEntry>,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Look ahead to the end of the week
///
/// Who of the squad will, or may, be over a limit in a week that runs if the sessions still planned happen, on top of what is
/// done. Nothing is planned any more of a week that is over. With `explain` the sessions of each athlete named are shown, and each is
/// entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_look_ahead",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W47"), LookAheadQuery,
    ),
    responses(
        (status = 200, description = "Who will, or may, be over", body = LookAheadAnswer),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}/look-ahead")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, String)>,
    query: Query<LookAheadQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, squad, week) = path.into_inner();
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let week = range::week("?week", &week)?;
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let explain = range::explain(query.0.explain.as_deref())?;
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, (squad, week), as_of, explain)
    })
    .await?;
    let shown = answer.entries.iter().map(|one| one.athlete_id);
    app.audit
        .record_shown(&app, &scope.caller, "read_look_ahead", shown)
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    (squad_id, week): (SquadId, IsoWeek),
    as_of: AsOf,
    explain: bool,
) -> Result<LookAheadAnswer, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    reach::squad(conn, caller, squad_id)?;
    begun(week, as_of.today(&zones::of_club(conn, tenant)?))?;
    let (monday, sunday) = (week.monday(), week.sunday());
    let members = memberships::of_squads(conn, tenant, &[squad_id], monday, sunday, known)?;
    let members: BTreeSet<AthleteId> = members
        .into_iter()
        .map(|member| member.content.athlete_id)
        .collect();
    let members: Vec<AthleteId> = members.into_iter().collect();
    let found = look_ahead::read(conn, tenant, &members, week, (known, as_of.now))?;
    let mut entries: Vec<AheadEntry> = found.over.iter().filter_map(AheadEntry::of).collect();
    if explain {
        let shown = entries.iter().map(|entry| entry.athlete_id).collect();
        let mut explained = found.read.explain(conn, caller, &shown)?;
        for entry in &mut entries {
            entry.explained = explained.remove(&entry.athlete_id);
        }
    }
    entries.sort_by(|a, b| (a.certainty, &a.display_name).cmp(&(b.certainty, &b.display_name)));
    Ok(LookAheadAnswer {
        squad_id,
        week: week.to_string(),
        as_of: as_of.at(),
        policy_version: found.policy_version,
        entries,
        caution: CAUTION,
    })
}
