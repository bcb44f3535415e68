//! A squad's week: who needs a decision, in order, one sentence each.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::{
    AthleteWeek, IsoWeek, Load, Policy, Setting, SettingLoad, WeeklyList, judge_figures,
    week_figures_of, weekly_list,
};

use super::figures::{self, Asked, AthleteDays};
use super::flags::looks_back_to;
use super::policy::Policies;
use crate::error::Problem;
use crate::ids::{AthleteId, FlagId, SquadId};
use crate::store::{Conn, Known, Tenant, Who, flags, memberships};

/// Which list.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Of this squad's members on any day of the week.
    pub squad_id: SquadId,
    /// The week.
    pub week: IsoWeek,
    /// What was known when.
    pub known: Known,
    /// Now.
    pub now: Timestamp,
}

/// The list with what belongs to it.
#[derive(Debug)]
pub struct SquadWeek {
    /// The list.
    pub list: WeeklyList<AthleteId>,
    /// The policy it was judged by.
    pub policy: Option<Policy>,
    /// The flags of the week by athlete and rule; none while the week is running.
    pub flags: BTreeMap<(AthleteId, String), FlagId>,
}

/// Reads and judges the week: a query a table, whatever the number of athletes. Days of a running
/// week that are still to come count as empty.
pub fn read(conn: &mut Conn, tenant: Tenant, wanted: Wanted) -> Result<SquadWeek, Problem> {
    let (monday, sunday) = (wanted.week.monday(), wanted.week.sunday());
    let policies = Policies::read(conn, tenant, wanted.known)?;
    let policy = policies.at(sunday).cloned();
    let members = memberships::of_squads(
        conn,
        tenant,
        &[wanted.squad_id],
        monday,
        sunday,
        wanted.known,
    )?;
    let mut athletes: Vec<AthleteId> = members
        .into_iter()
        .map(|member| member.content.athlete_id)
        .collect();
    athletes.sort_unstable();
    athletes.dedup();
    let who = Who::Athletes(&athletes);
    let asked = Asked {
        first: looks_back_to(wanted.week),
        last: sunday,
        settings: None,
        known: wanted.known,
        now: wanted.now,
    };
    let days = figures::days(conn, tenant, who, &asked, &policies)?;
    let standing = flags::in_weeks(conn, tenant, who, monday, monday, wanted.known)?;
    let judged = days
        .iter()
        .filter_map(|days| athlete_week(days, wanted.week, policy.as_ref(), &policies).transpose())
        .collect::<Result<Vec<_>, _>>()?;
    Ok(SquadWeek {
        list: weekly_list(policy.as_ref(), judged),
        policy,
        flags: standing
            .into_iter()
            .map(|judged| {
                (
                    (judged.flag.athlete_id, judged.flag.rule),
                    judged.flag.flag_id,
                )
            })
            .collect(),
    })
}

/// One athlete's week; `None` where she was not in the club yet.
fn athlete_week(
    days: &AthleteDays,
    week: IsoWeek,
    policy: Option<&Policy>,
    policies: &Policies,
) -> Result<Option<AthleteWeek<AthleteId>>, Problem> {
    let Some(series) = &days.series else {
        return Ok(None);
    };
    let settings = policies.figures_at(week.sunday());
    let Ok(figures) = week_figures_of(series, &settings, week) else {
        return Ok(None);
    };
    Ok(Some(AthleteWeek {
        key: days.athlete.athlete_id,
        display_name: days.athlete.display_name.clone(),
        judgements: policy
            .map(|policy| judge_figures(policy, &figures))
            .unwrap_or_default(),
        settings: by_setting(days, week)?,
        figures,
    }))
}

/// The week's load by setting, and the same setting's load in the 21 days before.
pub fn by_setting(days: &AthleteDays, week: IsoWeek) -> Result<Vec<SettingLoad>, Problem> {
    let prior = week.monday().saturating_sub(jiff::Span::new().days(21));
    let mut loads: BTreeMap<Setting, (Load, Load)> = BTreeMap::new();
    let member = days
        .totals
        .iter()
        .filter(|row| row.date >= days.athlete.joined_on);
    for row in member {
        let load = figures::load(row.totals.logged_half)?;
        let (of_week, before) = loads.entry(row.setting).or_default();
        if (week.monday()..=week.sunday()).contains(&row.date) {
            *of_week += load;
        } else if (prior..week.monday()).contains(&row.date) {
            *before += load;
        }
    }
    let part = |(setting, (week, prior_21d))| SettingLoad {
        setting,
        week,
        prior_21d,
    };
    Ok(loads.into_iter().map(part).collect())
}

/// Today in a zone, at the instant a read refers to.
pub fn today(zone: &TimeZone, known: Known, now: Timestamp) -> Date {
    let at = if let Known::AsOf(at) = known { at } else { now };
    zone.to_datetime(at).date()
}
