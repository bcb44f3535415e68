//! `GET …/athletes/{athlete_id}/neuromuscular-dose`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::answer::{NOTE, WarmUpSeason, WarmUpWeek};
use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::warm_ups::dose::{self, Weeks};
use crate::services::{figures, reach, zones};
use crate::store::Conn;
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Which weeks are asked for.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DoseQuery {
    /// First ISO week; 7 weeks before `to` unless given.
    #[param(example = "2026-W32")]
    pub from: Option<String>,
    /// Last ISO week; the last that is over unless given.
    #[param(example = "2026-W39")]
    pub to: Option<String>,
    /// What had been received by this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    pub as_of: Option<String>,
}

/// An athlete's neuromuscular warm-ups by week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-W36", "to": "2026-W36",
    "as_of": "2026-09-13T20:00:00Z", "weeks": [{"week": "2026-W36", "is_over": true, "expected": true,
        "warm_ups": {"sessions": 2, "minutes": 30, "categories": ["strength", "jump", "agility"], "feedback": true},
        "at_most": {"sessions": 2, "minutes": 30, "categories": ["strength", "jump", "agility"], "feedback": true},
        "sessions_not_said": 0, "policy_version": 1, "against": null}],
    "season": {"weeks_expected": 1, "weeks_met": null, "weeks_not_known": null, "first_warm_up": "2026-09-01", "first_game": null,
        "began_6_weeks_before": null},
    "note": "Counted are planned sessions whose warm-up was entered; …", "caution": "These figures describe what was logged. …"}))]
pub struct AthleteDose {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First week.
    pub from: String,
    /// Last week.
    pub to: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// Each week.
    pub weeks: Vec<WarmUpWeek>,
    /// All of them that are over.
    pub season: WarmUpSeason,
    /// What a dose is, and is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Read the dose of neuromuscular warm-up
///
/// By ISO week the warm-ups that she attended, with minutes, categories and feedback, each part against the club's rule, and what of it is
/// not known; for all weeks asked for how many met it, and whether it began six weeks before the first game. What counts is where she was,
/// not what was held. The family sees the warm-ups, and no limit. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_neuromuscular_dose",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), DoseQuery),
    responses((status = 200, description = "The weeks", body = AthleteDose), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/neuromuscular-dose")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<DoseQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, (athlete_id, &query.0), as_of)
    })
    .await?;
    app.audit
        .record_shown(&app, &scope.caller, "read_neuromuscular_dose", [athlete_id])
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    (athlete_id, query): (AthleteId, &DoseQuery),
    as_of: AsOf,
) -> Result<AthleteDose, Problem> {
    let tenant = caller.tenant;
    let athlete = reach::athlete(conn, caller, athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, as_of.known)?.content;
    let today = as_of.today(&zones::home(conn, tenant, &athlete)?);
    let asked = (query.from.as_deref(), query.to.as_deref());
    let (first, last) = range::past_weeks(asked, today)?;
    let weeks = Weeks {
        first,
        last,
        as_of,
        today,
    };
    let mut doses = dose::of_athletes(conn, tenant, &[athlete_id], weeks)?;
    let doses = doses.remove(&athlete_id).ok_or_else(Problem::not_found)?;
    // The family sees the warm-ups, and no limit to aim at.
    let sees_limits = caller.principal.role.allows(Scope::ReadPolicy);
    Ok(AthleteDose {
        athlete_id,
        from: first.to_string(),
        to: last.to_string(),
        as_of: as_of.at(),
        weeks: WarmUpWeek::all(&doses, sees_limits),
        season: WarmUpSeason::of(&doses, sees_limits),
        note: NOTE,
        caution: CAUTION,
    })
}
