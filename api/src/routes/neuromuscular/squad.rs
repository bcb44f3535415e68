//! `GET …/squads/{squad_id}/neuromuscular-dose`.

use std::collections::BTreeSet;

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use super::answer::{NOTE, WarmUpSeason, WarmUpWeek};
use super::athlete::DoseQuery;
use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::services::as_of::{self, AsOf};
use crate::services::warm_ups::dose::{self, Weeks};
use crate::services::{reach, zones};
use crate::store::{Conn, Who, athletes, memberships};
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// A squad's neuromuscular warm-ups by week: what its sessions held, and what each member attended.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"squad_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-W36", "to": "2026-W36",
    "as_of": "2026-09-13T20:00:00Z", "weeks": [], "season": {"weeks_expected": 0, "weeks_met": 0, "weeks_not_known": 0,
        "first_warm_up": null, "first_game": null, "began_6_weeks_before": null}, "athletes": [],
    "note": "Counted are planned sessions whose warm-up was entered; …", "caution": "These figures describe what was logged. …"}))]
pub struct SquadDose {
    /// The squad.
    pub squad_id: SquadId,
    /// First week.
    pub from: String,
    /// Last week.
    pub to: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// What its sessions held in each week, whoever was there.
    pub weeks: Vec<WarmUpWeek>,
    /// All of these weeks that are over.
    pub season: WarmUpSeason,
    /// What each member of today attended, by name, at whatever she was planned for.
    pub athletes: Vec<MemberDose>,
    /// What a dose is, and is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A member's warm-ups by week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "display_name": "Asta", "weeks": [],
    "season": {"weeks_expected": 0, "weeks_met": 0, "weeks_not_known": 0, "first_warm_up": null, "first_game": null,
        "began_6_weeks_before": null}}))]
pub struct MemberDose {
    /// Whose.
    pub athlete_id: AthleteId,
    /// Her name as it is shown.
    pub display_name: String,
    /// Each week.
    pub weeks: Vec<WarmUpWeek>,
    /// All of them that are over.
    pub season: WarmUpSeason,
}

/// Read a squad's dose of neuromuscular warm-up
///
/// By ISO week what the squad's sessions held and what each member of today attended of all that she was planned for, each part against the
/// club's rule. A squad that held enough may have members who had too little of it. Each member is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_squad_neuromuscular_dose",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), DoseQuery),
    responses((status = 200, description = "The weeks", body = SquadDose), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/neuromuscular-dose")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    query: Query<DoseQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, (squad_id, &query.0), as_of)
    })
    .await?;
    let shown = answer.athletes.iter().map(|member| member.athlete_id);
    app.audit
        .record_shown(&app, &scope.caller, "read_neuromuscular_dose", shown)
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    (squad_id, query): (SquadId, &DoseQuery),
    as_of: AsOf,
) -> Result<SquadDose, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    reach::squad(conn, caller, squad_id)?;
    let today = as_of.today(&zones::of_club(conn, tenant)?);
    let asked = (query.from.as_deref(), query.to.as_deref());
    let (first, last) = range::past_weeks(asked, today)?;
    let weeks = Weeks {
        first,
        last,
        as_of,
        today,
    };
    let members = memberships::of_squads(conn, tenant, &[squad_id], today, today, known)?;
    let members = members.into_iter().map(|member| member.content.athlete_id);
    let members: Vec<AthleteId> = members.collect::<BTreeSet<_>>().into_iter().collect();
    let mut doses = dose::of_athletes(conn, tenant, &members, weeks)?;
    let roster = athletes::known(conn, tenant, Who::Athletes(&members), known)?;
    let members = roster.into_iter().filter_map(|athlete| {
        let athlete = athlete.content;
        let doses = doses.remove(&athlete.athlete_id)?;
        Some(MemberDose {
            athlete_id: athlete.athlete_id,
            display_name: athlete.display_name,
            weeks: WarmUpWeek::all(&doses, true),
            season: WarmUpSeason::of(&doses, true),
        })
    });
    let mut athletes: Vec<MemberDose> = members.collect();
    athletes.sort_by(|a, b| (&a.display_name, a.athlete_id).cmp(&(&b.display_name, b.athlete_id)));
    let held = dose::of_squad(conn, tenant, squad_id, weeks)?;
    Ok(SquadDose {
        squad_id,
        from: first.to_string(),
        to: last.to_string(),
        as_of: as_of.at(),
        weeks: WarmUpWeek::all(&held, true),
        season: WarmUpSeason::of(&held, true),
        athletes,
        note: NOTE,
        caution: CAUTION,
    })
}
