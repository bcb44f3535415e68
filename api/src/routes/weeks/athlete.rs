//! `GET …/athletes/{athlete_id}/weeks`: one entry a week.

use std::collections::BTreeSet;

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain as domain;
use plimsoll_domain::{IsoWeek, Load, Places, Policy, WeekFigures, week_figures_of};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::usual_week::UsualWeek;
use crate::app::App;
use crate::auth::Role;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, FlagId};
use crate::services::audit::Reading;
use crate::services::explain::{Explanation, explain};
use crate::services::figures::{self, Asked, AthleteDays};
use crate::services::flags::{looks_back_to, shifted};
use crate::services::policy::Policies;
use crate::services::ratings::{self, OwnRatings};
use crate::services::{reach, returns, weekly_list, zones};
use crate::store::flags::{self, Judged};
use crate::store::{Known, Who};
use crate::web::figures::{
    CAUTION, Change, DayCounts, Figure, LoadBounds, Monotony, RATIO_NOTE, TrainingStrain,
};
use crate::web::finding::{HighestWeek, ReturnWeek};
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Weeks of one call.
const MOST_WEEKS: i64 = 160;

/// Which weeks are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WeeksQuery {
    /// First ISO week; 7 weeks before `to` unless given.
    #[param(example = "2026-W30")]
    from: Option<String>,
    /// Last ISO week; the last that is over unless given.
    #[param(example = "2026-W45")]
    to: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: with the arithmetic, which is the days the weeks look back to with the sessions and sources
    /// they are made of, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
}

/// An athlete's figures week by week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeeksAnswer {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First week asked for.
    #[schema(example = "2026-W30")]
    pub from: String,
    /// Last week asked for.
    #[schema(example = "2026-W45")]
    pub to: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// Said where the ratings up to the last week may carry little information; to staff only.
    #[schema(value_type = Option<String>)]
    pub rating_note: Option<&'static str>,
    /// One entry a week that is over; weeks before the first membership date are left out.
    pub weeks: Vec<Week>,
    /// The arithmetic, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

/// The figures of one ISO week, taken at its Sunday.
#[derive(Debug, Serialize, ToSchema)]
pub struct Week {
    /// The week.
    #[schema(example = "2026-W37")]
    pub week: String,
    /// Its Monday.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Its Sunday.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The policy of its Sunday; null where the club had none.
    pub policy_version: Option<u32>,
    /// Load of the week.
    pub load_au: LoadBounds,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected whose planned end has passed.
    pub expected: u32,
    /// Those of them that are not logged.
    pub unlogged: u32,
    /// Minutes reported.
    pub minutes: u32,
    /// Hours reported.
    #[schema(example = 7.8333)]
    pub hours: f64,
    /// Hours in settings that the policy counts as organised; null without a policy.
    pub organised_hours: Option<f64>,
    /// Days without an organised session; null without a policy.
    pub free_days: Option<usize>,
    /// Ratio at the end of the week, coupled.
    pub ratio_coupled: Figure,
    /// Ratio at the end of the week, uncoupled.
    pub ratio_uncoupled: Figure,
    /// Mean over standard deviation of the seven days.
    pub monotony: Monotony,
    /// Load of the week times its monotony.
    pub strain_au: TrainingStrain,
    /// Against the ISO week before.
    pub change_from_previous_week: Change,
    /// The highest of the earlier weeks; null with fewer than four.
    pub own_highest: Option<HighestWeek>,
    /// Her usual week; null with fewer than six known weeks.
    pub usual_week: Option<UsualWeek>,
    /// The week after an absence that ended in this one, against its ceiling; to staff only.
    pub since_return: Option<ReturnWeek>,
    /// Load by setting with its share, the settings in their order.
    pub by_setting: Vec<SettingShare>,
    /// States of the seven days.
    pub days: DayCounts,
    /// Flags of the week, once it is closed.
    pub flags: Vec<WeekFlag>,
}

/// One setting's part of a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"setting": "club", "au": 1850.0, "share_pct": 65.84}))]
pub struct SettingShare {
    /// Who ran the sessions.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// Their load.
    pub au: f64,
    /// In per cent of the week; null without load.
    pub share_pct: Option<f64>,
}

/// A flag of the week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekFlag {
    /// Its id.
    pub flag_id: FlagId,
    /// The rule.
    pub rule: String,
    /// raised or withdrawn.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// certain, possible or not_computable.
    #[schema(value_type = String)]
    pub certainty: &'static str,
}

/// Load by week
///
/// Load, ratio at the end of the week, monotony, training strain, change, hours, free days, shares by
/// setting and flags. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_weeks",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WeeksQuery),
    responses((status = 200, description = "One entry a week", body = WeeksAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/weeks")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<WeeksQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let now = app.clock.now();
    let known = range::known(query.0.as_of.as_deref(), now)?;
    let explained = range::explain(query.0.explain.as_deref())?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_weeks",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    let answer = app
        .store
        .snapshot(move |conn| {
            let tenant = scope.caller.tenant;
            let athlete = reach::athlete(conn, &scope.caller, athlete_id)?;
            let athlete = figures::as_known(conn, tenant, athlete, known)?;
            let home = zones::home(conn, tenant, &athlete.content)?;
            let today = weekly_list::today(&home, known, now);
            let (from, to) = asked_weeks(&query.0, today)?;
            let policies = Policies::read(conn, tenant, known)?;
            let last = to.sunday().min(today.yesterday().unwrap_or(today));
            let who = [athlete_id];
            let who = Who::Athletes(&who);
            let asked = Asked {
                first: returns::reads_from(conn, tenant, who, (from, to), known)?,
                last,
                settings: None,
                known,
                now,
            };
            let days = figures::days_of_one(conn, tenant, athlete, &asked, &policies)?;
            let raised = flags::in_weeks(conn, tenant, who, from.monday(), to.monday(), known)?;
            let mut weeks = from
                .through(to)
                .filter_map(|week| entry(&days, week, &policies, &raised).transpose())
                .collect::<Result<Vec<_>, _>>()?;
            let rated = (looks_back_to(to), last);
            let ratings = ratings::read(conn, tenant, who, rated, known)?;
            let mut rating_note = ratings.get(&athlete_id).and_then(OwnRatings::note);
            if for_the_family(scope.caller.principal.role) {
                rating_note = None;
                weeks.iter_mut().for_each(|week| week.since_return = None);
            }
            let explained = if explained {
                Some(explain(conn, &scope.caller, &days, &asked, &policies)?)
            } else {
                None
            };
            Ok::<_, Problem>(WeeksAnswer {
                athlete_id,
                from: from.to_string(),
                to: to.to_string(),
                as_of: if let Known::AsOf(at) = known { at } else { now },
                ratio_note: RATIO_NOTE,
                caution: CAUTION,
                rating_note,
                weeks,
                explained,
            })
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

/// The family sees the loads, not a ceiling to aim at nor a remark on how ratings are given.
fn for_the_family(role: Role) -> bool {
    matches!(role, Role::Athlete | Role::Guardian)
}

/// The last eight weeks that are over unless asked otherwise; none lies ahead.
fn asked_weeks(query: &WeeksQuery, today: Date) -> Result<(IsoWeek, IsoWeek), Problem> {
    let current = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
    let week = |name, text: &Option<String>| {
        text.as_deref()
            .map(|text| range::week(name, text))
            .transpose()
    };
    let to = week("?to", &query.to)?.unwrap_or_else(|| shifted(current, -1));
    let from = week("?from", &query.from)?.unwrap_or_else(|| shifted(to, -7));
    if to > current {
        return Err(Problem::field(
            FieldProblem::new("?to", Code::InFuture, to.to_string())
                .allowed(format!("{current} or earlier")),
        ));
    }
    if to < from {
        return Err(bad(FieldProblem::new(
            "?to",
            Code::RangeReversed,
            to.to_string(),
        )
        .allowed(format!("{from} or later"))));
    }
    if to.monday().duration_since(from.monday()).as_hours() / (24 * 7) >= MOST_WEEKS {
        return Err(bad(FieldProblem::new(
            "?from",
            Code::RangeTooLong,
            from.to_string(),
        )
        .allowed(format!("at most {MOST_WEEKS} weeks"))));
    }
    Ok((from, to))
}

fn entry(
    days: &AthleteDays,
    week: IsoWeek,
    policies: &Policies,
    raised: &[Judged],
) -> Result<Option<Week>, Problem> {
    let Some(series) = &days.series else {
        return Ok(None);
    };
    let settings = policies.figures_at(week.sunday());
    let Ok(figures) = week_figures_of(series, &settings, week) else {
        return Ok(None);
    };
    let policy = policies.at(week.sunday());
    let organised = policy
        .map(|policy| organised(days, week, policy))
        .transpose()?;
    Ok(Some(Week {
        week: week.to_string(),
        from: week.monday(),
        to: week.sunday(),
        policy_version: policy.map(|policy| policy.version),
        load_au: figures.load.into(),
        sessions: figures.sessions,
        expected: figures.expected,
        unlogged: figures.unlogged,
        minutes: figures.minutes,
        hours: hours(figures.minutes.into())?,
        organised_hours: organised.as_ref().map(|organised| organised.hours),
        free_days: organised.map(|organised| organised.free_days),
        ratio_coupled: Figure::ratio(figures.ratio_coupled),
        ratio_uncoupled: Figure::ratio(figures.ratio_uncoupled),
        monotony: figures.monotony.into(),
        strain_au: figures.strain.into(),
        change_from_previous_week: figures.change.into(),
        own_highest: figures.own_highest.ok().map(Into::into),
        usual_week: figures.baseline.ok().map(Into::into),
        since_return: figures.returning.and_then(Result::ok).map(Into::into),
        by_setting: by_setting(days, week, &figures)?,
        days: figures.days.into(),
        flags: raised
            .iter()
            .filter(|judged| judged.flag.monday == week.monday())
            .map(|judged| WeekFlag {
                flag_id: judged.flag.flag_id,
                rule: judged.flag.rule.clone(),
                state: judged.version.state.code(),
                certainty: judged.version.certainty.code(),
            })
            .collect(),
    }))
}

struct Organised {
    hours: f64,
    free_days: usize,
}

/// Organised hours, and days of the week without an organised session.
fn organised(days: &AthleteDays, week: IsoWeek, policy: &Policy) -> Result<Organised, Problem> {
    let first = week.monday().max(days.athlete.joined_on);
    let rows = days.totals.iter().filter(|row| {
        (first..=week.sunday()).contains(&row.date)
            && policy.organised_settings.contains(&row.setting)
    });
    let busy: BTreeSet<Date> = rows
        .clone()
        .filter(|row| row.totals.sessions > 0)
        .map(|row| row.date)
        .collect();
    let minutes: i64 = rows.map(|row| i64::from(row.totals.minutes)).sum();
    let member_days = first
        .series(jiff::Span::new().days(1))
        .take_while(|day| *day <= week.sunday());
    Ok(Organised {
        hours: hours(minutes)?,
        free_days: member_days.count() - busy.len(),
    })
}

/// Minutes in hours, four decimals.
fn hours(minutes: i64) -> Result<f64, Problem> {
    let hours = domain::Fraction::new(minutes, 60).ok_or_else(|| Problem::internal(&"no hours"))?;
    Ok(hours.round(Places::Four).to_f64())
}

fn by_setting(
    days: &AthleteDays,
    week: IsoWeek,
    figures: &WeekFigures,
) -> Result<Vec<SettingShare>, Problem> {
    let parts = weekly_list::by_setting(days, week)?;
    let of_week = parts.into_iter().filter(|part| part.week > Load::ZERO);
    let share = |part: domain::SettingLoad| SettingShare {
        setting: part.setting.code(),
        au: part.week.to_au(),
        share_pct: domain::share::share(part.week, Some(figures.load.point))
            .ok()
            .map(|share| share.round(Places::Two).to_f64()),
    };
    Ok(of_week.map(share).collect())
}
