//! One athlete's week, as it is sent.

use std::collections::BTreeSet;

use jiff::civil::Date;
use plimsoll_domain as domain;
use plimsoll_domain::{IsoWeek, Load, Places, Policy, WeekFigures, week_figures_of};
use serde::Serialize;
use utoipa::ToSchema;

use super::usual_week::UsualWeek;
use crate::error::Problem;
use crate::ids::FlagId;
use crate::services::figures::AthleteDays;
use crate::services::policy::Policies;
use crate::services::weekly_list;
use crate::store::flags::Judged;
use crate::web::figures::{Change, DayCounts, Figure, LoadBounds, Monotony, TrainingStrain};
use crate::web::finding::{HighestWeek, ReturnWeek};

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
    /// Against that week, at its upper bound; null where there is none.
    pub change_from_own_highest: Option<Change>,
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

/// A week's figures; `None` where the athlete was not in the club yet.
pub(super) fn entry(
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
        change_from_own_highest: figures
            .own_highest
            .ok()
            .map(|highest| highest.change(figures.load).into()),
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
    // Where an organisation shares nothing the total is not known, and a part is never taken for all of it.
    let is_whole = days.elsewhere.not_shared.is_empty();
    let total = is_whole.then_some(figures.load.point);
    let share = |part: domain::SettingLoad| SettingShare {
        setting: part.setting.code(),
        au: part.week.to_au(),
        share_pct: domain::share::share(part.week, total)
            .ok()
            .map(|share| share.round(Places::Two).to_f64()),
    };
    Ok(of_week.map(share).collect())
}
