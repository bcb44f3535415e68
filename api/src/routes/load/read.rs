//! `GET …/athletes/{athlete_id}/load`: every figure of every day.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::civil::Date;
use jiff::{Span, Timestamp};
use plimsoll_domain::{DayFigures, day_figures};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::figures::{self, Asked};
use crate::services::policy::Policies;
use crate::services::{reach, zones};
use crate::store::{Known, Who};
use crate::web::figures::{
    CAUTION, Change, ChronicWeek, DayCounts, ExponentialMeans, Figure, LoadBounds, Monotony,
    RATIO_NOTE, TrainingStrain,
};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

/// Which days are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LoadQuery {
    /// First date; 27 days before `to` unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-09-07")]
    from: Option<String>,
    /// Last date; today unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-09-13")]
    to: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// Only these settings, with commas between them.
    #[param(example = "club")]
    setting: Option<String>,
}

/// An athlete's figures day by day.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadAnswer {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First date asked for.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date asked for.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge: what had been received by then.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy in force on the last date; null where the club has none.
    pub policy_version: Option<u32>,
    /// The settings counted, where the call restricts them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub only_settings: Option<Vec<&'static str>>,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// One entry a day; dates before the first membership date are left out.
    pub days: Vec<LoadDay>,
}

/// The figures of one date; each window ends with it.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadDay {
    /// The date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// What is known about the day.
    #[schema(value_type = String, example = "reported")]
    pub state: &'static str,
    /// Load as logged.
    pub load_au: f64,
    /// Load with its bounds.
    pub load_bounds_au: LoadBounds,
    /// Sessions reported.
    pub sessions: u32,
    /// Minutes reported.
    pub minutes: u32,
    /// Load of the last 7 days.
    pub acute_7d_au: Figure,
    /// Load of the 21 days before those.
    pub prior_21d_au: Figure,
    /// Mean week of the chronic window; null where the window is not whole.
    pub chronic_week_au: Option<ChronicWeek>,
    /// 4A / (A + P): the last 7 days against the last 28.
    pub ratio_coupled: Figure,
    /// 3A / P: the last 7 days against the 21 before.
    pub ratio_uncoupled: Figure,
    /// Exponentially weighted means.
    pub ewma: ExponentialMeans,
    /// Mean over standard deviation of the last 7 days.
    pub monotony: Monotony,
    /// Load of the last 7 days times their monotony.
    pub strain_au: TrainingStrain,
    /// The last 7 days against the 7 before.
    pub change_from_previous_7d: Change,
    /// States of the last 28 days.
    pub days_28: DayCounts,
}

impl From<DayFigures> for LoadDay {
    fn from(day: DayFigures) -> Self {
        Self {
            date: day.date,
            state: day.state.code(),
            load_au: day.load.point.to_au(),
            load_bounds_au: day.load.into(),
            sessions: day.sessions,
            minutes: day.minutes,
            acute_7d_au: Figure::load(day.acute_7d),
            prior_21d_au: Figure::load(day.prior_21d),
            chronic_week_au: day.chronic_week.map(Into::into),
            ratio_coupled: Figure::ratio(day.ratio_coupled),
            ratio_uncoupled: Figure::ratio(day.ratio_uncoupled),
            ewma: day.ewma.into(),
            monotony: day.monotony.into(),
            strain_au: day.strain.into(),
            change_from_previous_7d: day.change_from_previous_7d.into(),
            days_28: day.days_28.into(),
        }
    }
}

/// Load by day
///
/// Session load, acute and prior load, ratios, exponential means, monotony, training strain and
/// change for each day, each with the bounds that unlogged or disputed sessions leave open, or null
/// with a reason. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_load",
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), LoadQuery),
    responses(
        (status = 200, description = "One entry a day", body = LoadAnswer),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/load")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<right::ReadLoad>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<LoadQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let now = app.clock.now();
    let known = range::known(query.0.as_of.as_deref(), now)?;
    let settings = range::settings(query.0.setting.as_deref())?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_load",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    let answer = app
        .store
        .snapshot(move |conn| {
            let caller = &scope.caller;
            let athlete = reach::athlete(conn, caller, athlete_id)?.content;
            let home = zones::home(conn, caller.tenant, &athlete)?;
            let as_of = if let Known::AsOf(at) = known { at } else { now };
            let today = home.to_datetime(as_of).date();
            let (from, to) = asked_dates(&query.0, today)?;
            let policies = Policies::read(conn, caller.tenant, known)?;
            // The exponential means begin on the first membership day.
            let asked = Asked {
                first: athlete.joined_on.min(from),
                last: to,
                settings: settings.clone(),
                known,
            };
            let who = [athlete_id];
            let read = figures::days(conn, caller.tenant, Who::Athletes(&who), &asked, &policies)?;
            let series = read
                .into_iter()
                .next()
                .ok_or_else(Problem::not_found)?
                .series;
            let mut days: Vec<LoadDay> = Vec::new();
            for part in policies.parts(from, to) {
                if let Some(series) = &series {
                    let figures = day_figures(series, &part.settings, part.from, part.to);
                    days.extend(figures.into_iter().map(LoadDay::from));
                }
            }
            let only = settings.as_ref();
            Ok::<_, Problem>(LoadAnswer {
                athlete_id,
                from,
                to,
                as_of,
                policy_version: policies.at(to).map(|policy| policy.version),
                only_settings: only.map(|some| some.iter().map(|one| one.code()).collect()),
                ratio_note: RATIO_NOTE,
                caution: CAUTION,
                days,
            })
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

/// The last 28 days unless asked otherwise; nothing lies after today.
fn asked_dates(query: &LoadQuery, today: Date) -> Result<(Date, Date), Problem> {
    let (from, to) = range::dates(query.from.as_deref(), query.to.as_deref(), |to| {
        let to = to.unwrap_or(today);
        (to.saturating_sub(Span::new().days(27)), to)
    })?;
    if to > today {
        return Err(Problem::field(
            FieldProblem::new("?to", Code::InFuture, to.to_string())
                .allowed(format!("{today} or earlier, the athlete's own today")),
        ));
    }
    Ok((from, to))
}
