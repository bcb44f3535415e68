//! `GET …/athletes/{athlete_id}/margin`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::margin::minutes_at;
use plimsoll_domain::{IsoWeek, Rpe, RuleCode};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, EventId};
use crate::services::as_of::{self, AsOf};
use crate::services::margin::{self, RunningWeek};
use crate::services::ratings::age_note;
use crate::services::{figures, reach};
use crate::store::Conn;
use crate::web::figures::{CAUTION, Figure, LoadBounds};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadMargin;

/// What a margin is not.
pub const NOTE: &str = "Not a target: what is left to the club's limit is not there to be used up, and the limit is no medical one. \
    The two views differ: the week view looks at the week as a whole, the rolling view at the seven days that end on each date.";

/// Which week, and at which effort minutes are told.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct MarginQuery {
    /// The week that runs, or on a Sunday that is over the next one; no other has a margin.
    #[param(value_type = Option<String>, example = "2026-W45")]
    week: Option<String>,
    /// Session RPE, 0 to 10 in steps of 0.5: margins are then told in minutes too.
    #[param(value_type = Option<f64>, example = 5)]
    rpe: Option<String>,
    /// What had been received by this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// How far a running week is from the club's limit on the ratio, in two views.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "week": "2026-W45", "as_of": "2026-11-05T20:00:00Z",
    "done_until": "2026-11-05", "policy_version": 1, "limit": {"ratio_kind": "coupled", "limit": 1.5, "source_note": "club choice"},
    "done_au": {"point": 1395.0, "low": 1395.0, "high": 1395.0},
    "limit_au": {"point": 3684.0, "low": 3684.0, "high": 3684.0, "reason": null},
    "left_au": {"point": 2289.0, "low": 2289.0, "high": 2289.0, "reason": null},
    "left_after_fixed_au": {"point": 1179.0, "low": 1179.0, "high": 1179.0, "reason": null},
    "left_after_fixed_minutes": 235,
    "rolling": [{"date": "2026-11-06", "left_au": {"point": 229.0, "low": 229.0, "high": 229.0, "reason": null}, "minutes": 45}],
    "fixed": [{"event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-11-07", "load_au": 630.0}],
    "own_highest_day_au": 775.0, "rpe": 5.0, "settings_not_shared": 0, "age_note": null,
    "note": "Not a target: …", "caution": "These figures describe what was logged. …"}))]
pub struct MarginAnswer {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// The week.
    #[schema(example = "2026-W45")]
    pub week: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The last date that is done; margins begin on the day after. A day with sessions still to come is not done.
    #[schema(value_type = String, format = Date)]
    pub done_until: Date,
    /// The policy; null where the club has none.
    pub policy_version: Option<u32>,
    /// The limit; null where the club limits no ratio, and then nothing below it can be told.
    pub limit: Option<MarginLimit>,
    /// What is done since Monday; null before the first day in the club.
    pub done_au: Option<LoadBounds>,
    /// Week view: the load of the week that just meets the limit.
    pub limit_au: Option<Figure>,
    /// Week view: what is left of it after what is done; negative where the week is over it.
    pub left_au: Option<Figure>,
    /// Week view: what is left of it after the fixed events, too.
    pub left_after_fixed_au: Option<Figure>,
    /// Its low end in minutes at `rpe`, down to whole 5 minutes; null without `rpe`, and where nothing is left.
    pub left_after_fixed_minutes: Option<u32>,
    /// Rolling view: each remaining date, and what it alone may take so that no date until Sunday is over the limit.
    pub rolling: Vec<DayMargin>,
    /// The fixed events still to come, and the load each is taken at.
    pub fixed: Vec<FixedEvent>,
    /// The most on one date of the last eight weeks: in neither view, but no date is told more minutes.
    pub own_highest_day_au: Option<f64>,
    /// The effort at which minutes are told.
    pub rpe: Option<f64>,
    /// Organisations whose loads are not shared with the club: what is left may be less by what is done there.
    pub settings_not_shared: usize,
    /// What her age says of the ratings; null from 12 years on, and where her birth date is not known.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// What a margin is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A club's limit on the ratio.
#[derive(Debug, Serialize, ToSchema)]
pub struct MarginLimit {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub ratio_kind: &'static str,
    /// The limit.
    pub limit: f64,
    /// Where the club has it from.
    pub source_note: String,
}

/// One date of the rolling view.
#[derive(Debug, Serialize, ToSchema)]
pub struct DayMargin {
    /// The date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// What it alone may take.
    pub left_au: Figure,
    /// Its low end in minutes at `rpe`, and never more than `own_highest_day_au` comes to.
    pub minutes: Option<u32>,
}

/// A fixed event still to come.
#[derive(Debug, Serialize, ToSchema)]
pub struct FixedEvent {
    /// The event.
    pub event_id: EventId,
    /// Its date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// The load it is taken at.
    pub load_au: f64,
}

/// Read the margin to the club's limit
///
/// What is left of a running week to the club's limit on the ratio, by the week as a whole and by the seven days that end on each
/// date, after what is done and what is fixed. For staff alone: athletes and guardians never see it, and it is not a target. The read
/// is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_margin",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), MarginQuery),
    responses((status = 200, description = "The margins", body = MarginAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/margin")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<MarginQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let week = query.0.week.as_deref();
    let week = week.map(|text| range::week("?week", text)).transpose()?;
    let rpe = query.0.rpe.as_deref().map(range::rpe).transpose()?;
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, athlete_id, (week, rpe), as_of)
    })
    .await?;
    app.audit
        .record_shown(&app, &scope.caller, "read_margin", [athlete_id])
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
    (week, rpe): (Option<IsoWeek>, Option<Rpe>),
    as_of: AsOf,
) -> Result<MarginAnswer, Problem> {
    let tenant = caller.tenant;
    let athlete = reach::athlete(conn, caller, athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, as_of.known)?.content;
    let running = margin::read(conn, tenant, &athlete, as_of)?;
    if let Some(week) = week.filter(|week| *week != running.week) {
        let fault = FieldProblem::new("?week", Code::OutOfRange, week.to_string());
        return Err(Problem::field(
            fault.allowed(format!("{}, the week that runs", running.week)),
        ));
    }
    let of_week = running.margin.as_ref();
    Ok(MarginAnswer {
        athlete_id,
        week: running.week.to_string(),
        as_of: as_of.at(),
        done_until: running.done_until,
        policy_version: running.policy.as_ref().map(|policy| policy.version),
        limit: MarginLimit::of(&running),
        done_au: running.done.map(LoadBounds::from),
        limit_au: of_week.map(|margin| Figure::au(margin.limit_au)),
        left_au: of_week.map(|margin| Figure::au(margin.left)),
        left_after_fixed_au: of_week.map(|margin| Figure::au(margin.left_after_fixed)),
        left_after_fixed_minutes: of_week
            .and_then(|margin| minutes_at(margin.left_after_fixed.low?, rpe?)),
        rolling: of_week
            .into_iter()
            .flat_map(|margin| {
                let days = margin.rolling.iter();
                days.map(move |(date, left)| DayMargin {
                    date: *date,
                    left_au: Figure::au(*left),
                    minutes: rpe.and_then(|rpe| margin.minutes_on_one_day(*left, rpe)),
                })
            })
            .collect(),
        fixed: running
            .fixed
            .iter()
            .map(|fixed| FixedEvent {
                event_id: fixed.event_id,
                date: fixed.load.date,
                load_au: fixed.load.load.to_au(),
            })
            .collect(),
        own_highest_day_au: of_week.map(|margin| margin.own_highest_day.to_au()),
        rpe: rpe.map(Rpe::to_f64),
        settings_not_shared: running.not_shared,
        age_note: age_note(athlete.birth_date, running.done_until),
        note: NOTE,
        caution: CAUTION,
    })
}

impl MarginLimit {
    fn of(running: &RunningWeek) -> Option<Self> {
        let rule = running.policy.as_ref()?.rule(RuleCode::WeekEndRatio)?;
        Some(Self {
            ratio_kind: rule.ratio_kind.filter(|_| rule.enabled)?.code(),
            limit: rule.limit.to_f64(),
            source_note: rule.source_note.clone(),
        })
    }
}
