//! `GET …/athletes/{athlete_id}/programme/adherence`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::adherence::Adherence;
use plimsoll_domain::{Load, Places, Reason, rating};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::programmes::adherence::{self, Follow};
use crate::services::{as_of, figures, reach, zones};
use crate::web::figures::{CAUTION, Figure};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadAssigned;

/// Weeks unless dates are given.
const WEEKS: i64 = 4;
const NOTE: &str = "A session that was logged on the date of a planned one, in its setting and of its kind, is that session. A programme \
    that was not followed is a matter to talk about, not a fault.";

/// Which days.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AdherenceParams {
    /// First date; four weeks of days up to the last one unless given.
    #[param(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Last date, not after today; today unless given.
    #[param(value_type = Option<String>, format = Date)]
    to: Option<String>,
    /// What had been received by this instant, with the programmes and assignments of then; now unless given.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// How far an athlete followed her programmes.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-06-01", "to": "2026-06-07",
    "as_of": "2026-06-08T08:00:00Z", "all": {
    "planned_sessions": 3, "done_sessions": {"point": 2, "low": 2, "high": 2},
    "sessions_pct": {"point": 66.67, "low": 66.67, "high": 66.67, "reason": null}, "planned_au": 675.0,
    "done_au": {"point": 430.0, "low": 430.0, "high": 430.0}, "load_pct": {"point": 63.7, "low": 63.7, "high": 63.7, "reason": null},
    "extra_sessions": 0, "extra_au": 0.0}, "by_kind": [], "effort": {"sessions": 2, "mean_gap_rpe": null, "reason": "fewer_than_5_ratings"},
    "note": "A session that was logged …", "caution": "These figures describe what was logged. …"}))]
pub struct AdherenceAnswer {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// First date.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// All sessions together.
    pub all: PlannedAndDone,
    /// The same by kind of session.
    pub by_kind: Vec<KindFollowed>,
    /// Reported minus intended session RPE of those done; null to the family.
    pub effort: Option<EffortGap>,
    /// How sessions are told to be the same.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// What was planned and what was done. A session of which nothing is known widens the bounds.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlannedAndDone {
    /// Planned sessions.
    pub planned_sessions: u32,
    /// Those of them that were done.
    pub done_sessions: SessionsDone,
    /// The same in per cent.
    pub sessions_pct: Figure,
    /// Planned load; null where minutes or intended RPE of one are not said.
    pub planned_au: Option<f64>,
    /// Load of the planned sessions that were done.
    pub done_au: LoadDone,
    /// The same in per cent; null with effort_not_said where minutes or intended RPE of one are not said.
    pub load_pct: Figure,
    /// Sessions beside the plan, of the settings that it has.
    pub extra_sessions: u32,
    /// Their load.
    pub extra_au: f64,
}

/// A number of sessions.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"point": 2, "low": 2, "high": 3}))]
pub struct SessionsDone {
    /// As logged.
    pub point: u32,
    /// The least that it can be.
    pub low: u32,
    /// The most.
    pub high: u32,
}

/// A load of sessions.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"point": 430.0, "low": 430.0, "high": 880.0}))]
pub struct LoadDone {
    /// As logged.
    pub point: f64,
    /// The least that it can be.
    pub low: f64,
    /// The most.
    pub high: f64,
}

/// What was planned and done of one kind.
#[derive(Debug, Serialize, ToSchema)]
pub struct KindFollowed {
    /// The kind of session.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Its sessions.
    pub followed: PlannedAndDone,
}

/// How hard sessions were against what was meant.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"sessions": 6, "mean_gap_rpe": 1.25, "reason": null}))]
pub struct EffortGap {
    /// Over how many sessions.
    pub sessions: usize,
    /// The mean gap in points of the scale, negative where they felt easier; null of fewer than five.
    pub mean_gap_rpe: Option<f64>,
    /// Why it cannot be told: fewer_than_5_ratings.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

/// Read how far an athlete followed her programmes
///
/// Planned sessions and load beside what was done of them, by kind too, what was done beside the plan, and intended beside reported RPE,
/// which staff alone are told. A planned session of which nothing is known may have been missed or done. With `as_of` it is laid beside what
/// was assigned then, in the versions of then. The read is entered in the audit
/// list before it is answered.
#[utoipa::path(
    tag = "Programmes",
    operation_id = "read_programme_adherence",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), AdherenceParams),
    responses((status = 200, description = "Planned and done", body = AdherenceAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/programme/adherence")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<AdherenceParams>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let (caller, tenant, asked) = (scope.caller.clone(), scope.caller.tenant, query.0);
    let instant = range::as_of(asked.as_of.as_deref())?;
    let answer = as_of::read(&app, tenant, instant, move |conn, as_of| {
        let found = reach::athlete(conn, &caller, athlete)?;
        let found = figures::as_known(conn, tenant, found, as_of.known)?;
        let today = as_of.today(&zones::home(conn, tenant, &found.content)?);
        let given = (asked.from.as_deref(), asked.to.as_deref());
        let dates = range::past_dates(given, today, WEEKS)?;
        let follow = adherence::read(conn, tenant, athlete, dates, as_of.known)?;
        Ok(AdherenceAnswer::new(
            (athlete, as_of.at()),
            dates,
            &follow,
            caller.is_staff(),
        ))
    })
    .await?;
    let reading = Reading {
        athlete,
        action: "read_programme_adherence",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

impl AdherenceAnswer {
    fn new(
        (athlete_id, as_of): (AthleteId, Timestamp),
        (from, to): (Date, Date),
        follow: &Follow,
        to_staff: bool,
    ) -> Self {
        let known = follow.without_effort == 0;
        let gap = rating::gap(&follow.compared);
        let by_kind = follow.by_kind.iter().map(|(kind, followed)| KindFollowed {
            kind: kind.code(),
            followed: PlannedAndDone::of(followed, known),
        });
        Self {
            athlete_id,
            from,
            to,
            as_of,
            all: PlannedAndDone::of(&follow.all, known),
            by_kind: by_kind.collect(),
            effort: to_staff.then(|| EffortGap {
                sessions: follow.compared.len(),
                mean_gap_rpe: gap.ok().map(|gap| gap.mean.round(Places::Four).to_f64()),
                reason: gap.err().map(Reason::code),
            }),
            note: NOTE,
            caution: CAUTION,
        }
    }
}

impl PlannedAndDone {
    fn of(all: &Adherence, known: bool) -> Self {
        let (sessions, load) = (all.done_sessions, all.done.map(Load::to_au));
        let unknown = Figure {
            point: None,
            low: None,
            high: None,
            reason: Some("effort_not_said"),
        };
        Self {
            planned_sessions: all.planned_sessions,
            done_sessions: SessionsDone {
                point: sessions.point,
                low: sessions.low,
                high: sessions.high,
            },
            sessions_pct: Figure::percent(all.sessions_pct()),
            planned_au: known.then(|| all.planned.to_au()),
            done_au: LoadDone {
                point: load.point,
                low: load.low,
                high: load.high,
            },
            load_pct: if known {
                Figure::percent(all.load_pct())
            } else {
                unknown
            },
            extra_sessions: all.extra_sessions,
            extra_au: all.extra.to_au(),
        }
    }
}
