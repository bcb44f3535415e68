//! `GET …/athletes/{athlete_id}/load`: every figure of every day.

use actix_web::http::header::{self, ContentType};
use actix_web::{HttpResponse, get, web};
use jiff::civil::Date;
use jiff::{Span, Timestamp};
use plimsoll_domain::{DayFigures, Setting, day_figures_iter};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::audit::Reading;
use crate::services::explain::{Explanation, explain};
use crate::services::figures::{self, Asked};
use crate::services::policy::Policies;
use crate::services::ratings::age_note;
use crate::services::{reach, zones};
use crate::store::Conn;
use crate::web::figures::{
    CAUTION, Change, ChronicWeek, DayCounts, ExponentialMeans, Figure, LoadBounds, Monotony,
    RATIO_NOTE, TrainingStrain,
};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;
use crate::web::write_json::{Each, IfAny, WriteJson, Written, write_object};

type Needed = right::ReadLoad;

/// About as long as a day's figures are as text.
const DAY_BYTES: usize = 1_200;

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
    /// true: with the arithmetic, which is the days since the first membership date with the sessions
    /// and sources they are made of, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
}

/// An athlete's figures day by day.
#[derive(ToSchema)]
pub struct LoadAnswer<'a> {
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
    #[schema(value_type = Vec<String>, required = false)]
    pub only_settings: IfAny<Vec<&'static str>>,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// Said where she was below about twelve years on the last date.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// One entry a day; dates before the first membership date are left out.
    #[schema(value_type = Vec<LoadDay>)]
    pub days: Days<'a>,
    /// The arithmetic, where it is asked for.
    #[schema(value_type = Explanation, required = false)]
    pub explained: IfAny<Written>,
}

/// Days, computed one by one while they are written.
pub type Days<'a> = Each<Box<dyn Iterator<Item = LoadDay> + 'a>>;

/// The figures of one date; each window ends with it.
#[derive(Debug, ToSchema)]
#[cfg_attr(test, derive(serde::Serialize))]
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

write_object!(LoadAnswer<'_> {
    athlete_id, from, to, as_of, policy_version, only_settings, ratio_note, caution, age_note,
    days, explained
});
write_object!(LoadDay {
    date,
    state,
    load_au,
    load_bounds_au,
    sessions,
    minutes,
    acute_7d_au,
    prior_21d_au,
    chronic_week_au,
    ratio_coupled,
    ratio_uncoupled,
    ewma,
    monotony,
    strain_au,
    change_from_previous_7d,
    days_28
});

/// Load by day
///
/// Session load, acute and prior load, ratios, exponential means, monotony, training strain and
/// change for each day, each with the bounds that unlogged or disputed sessions leave open, or null
/// with a reason. The read is entered in the audit list before it is answered.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_load",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), LoadQuery),
    responses(
        (status = 200, description = "One entry a day", body = LoadAnswer<'_>),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/load")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<LoadQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let settings = range::settings(query.0.setting.as_deref())?;
    let explain = range::explain(query.0.explain.as_deref())?;
    let wanted = Wanted {
        athlete_id,
        query: query.0,
        settings,
        explain,
    };
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        wanted.answer(conn, &caller, as_of)
    })
    .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_load",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .content_type(ContentType::json())
        .body(answer))
}

/// What a call asks for.
struct Wanted {
    athlete_id: AthleteId,
    query: LoadQuery,
    settings: Option<Vec<Setting>>,
    explain: bool,
}

impl Wanted {
    /// Reads what is known, and writes each day's figures as they are computed.
    fn answer(&self, conn: &mut Conn, caller: &Caller, as_of: AsOf) -> Result<Vec<u8>, Problem> {
        let (tenant, known) = (caller.tenant, as_of.known);
        let athlete = reach::athlete(conn, caller, self.athlete_id)?;
        let athlete = figures::as_known(conn, tenant, athlete, known)?;
        let home = zones::home(conn, tenant, &athlete.content)?;
        let (from, to) = asked_dates(&self.query, home.to_datetime(as_of.at()).date())?;
        let policies = Policies::read(conn, tenant, known)?;
        // The exponential means begin on the first membership day.
        let asked = Asked {
            first: athlete.content.joined_on.min(from),
            last: to,
            settings: self.settings.clone(),
            known,
            now: as_of.now,
        };
        let of_her = figures::days_of_one(conn, tenant, athlete, &asked, &policies)?;
        let explained = if self.explain {
            Some(explain(conn, caller, &of_her, &asked, &policies)?)
        } else {
            None
        };
        let explained = explained.as_ref().map(Written::of).transpose();
        let explained = explained.map_err(|error| Problem::internal(&error))?;
        let parts = policies.parts(from, to);
        let days = of_her.series.iter().flat_map(|series| {
            parts
                .iter()
                .flat_map(move |part| day_figures_iter(series, &part.settings, part.from, part.to))
        });
        let only = self.settings.as_ref();
        let answer = LoadAnswer {
            athlete_id: self.athlete_id,
            from,
            to,
            as_of: as_of.at(),
            policy_version: policies.at(to).map(|policy| policy.version),
            only_settings: IfAny(only.map(|some| some.iter().map(|one| one.code()).collect())),
            ratio_note: RATIO_NOTE,
            caution: CAUTION,
            age_note: age_note(of_her.athlete.birth_date, to),
            days: Each(Box::new(days.map(LoadDay::from))),
            explained: IfAny(explained),
        };
        let mut text = Vec::with_capacity(DAY_BYTES * range::length(from, to));
        answer.write_json(&mut text);
        Ok(text)
    }
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

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::{Bounds, DailySeries, DayFacts, DayTotal, FigureSettings, Load};

    use super::*;

    /// Days with and without reports, with bounds and without, from the first membership day on.
    fn days() -> Vec<LoadDay> {
        let day = |number: u16| {
            let sessions = u32::from(number % 3);
            let unlogged = u32::from(number.is_multiple_of(11));
            let facts = DayFacts {
                sessions,
                expected: unlogged,
                unlogged,
                ..DayFacts::default()
            };
            let point = Load::from_au(number % 3 * 37 * (number % 13));
            let high = point + Load::from_au(if unlogged > 0 { 500 } else { 0 });
            let low = point;
            DayTotal::new(facts, Bounds { low, point, high }, sessions * 45).unwrap()
        };
        let first = date(2026, 1, 1);
        let series = DailySeries::new(first, first, (0..120).map(day).collect()).unwrap();
        day_figures_iter(&series, &FigureSettings::default(), first, series.last())
            .map(LoadDay::from)
            .collect()
    }

    #[test]
    fn a_day_is_written_as_serde_writes_it() {
        for day in days() {
            let expected = serde_json::to_string(&day).unwrap();
            let mut text = Vec::new();
            day.write_json(&mut text);
            assert_eq!(String::from_utf8(text).unwrap(), expected);
        }
    }
}
