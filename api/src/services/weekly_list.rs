//! A squad's week: who needs a decision, in order, one sentence each.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::{
    Ahead, AthleteWeek, IsoWeek, Load, OpenSession, Policy, Setting, SettingLoad, WeeklyList,
    judge_figures, week_figures_of, weekly_list,
};

use super::acknowledgement;
use super::as_of::AsOf;
use super::correction::{self, Closed};
use super::explain::{Explanation, Read};
use super::figures::{self, Asked, AthleteDays};
use super::flags::looks_back_to;
use super::plot_weeks::{PlotWeek, plot_weeks};
use super::policy::Policies;
use super::ratings::{self, OwnRatings};
use super::returns;
use super::week_ahead::Schedule;
use super::zones;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, FlagId, SquadId};
use crate::store::expected::ExpectedSession;
use crate::store::flags::Acknowledgement;
use crate::store::{Conn, Tenant, Who, flags, memberships};

/// Which list.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Of this squad's members on any day of the week.
    pub squad_id: SquadId,
    /// The week.
    pub week: IsoWeek,
    /// As of when.
    pub as_of: AsOf,
}

/// The list with what belongs to it.
#[derive(Debug)]
pub struct SquadWeek {
    /// The list.
    pub list: WeeklyList<AthleteId>,
    /// The policy it was judged by.
    pub policy: Option<Policy>,
    /// The flags of the week by athlete and rule; none while the week is running.
    pub flags: BTreeMap<(AthleteId, String), FlagSeen>,
    /// The sessions that are open in the week and the 21 days before it, by start: what the places
    /// of the entries' missing sessions refer to.
    pub open: BTreeMap<AthleteId, Vec<ExpectedSession>>,
    /// What staff should know about each member's ratings.
    pub notes: BTreeMap<AthleteId, RatingNotes>,
    /// How the week was closed, and what was corrected since.
    pub closed: Option<Closed>,
    /// Who will be over in the week after by what is planned; `None` where that week is not the one
    /// that runs.
    pub ahead: Option<Vec<Ahead<AthleteId>>>,
    /// What it was made of.
    read: Read,
}

/// What staff should know about an athlete's ratings.
#[derive(Debug, Clone, Default)]
pub struct RatingNotes {
    /// Of how they are given.
    pub habits: Option<String>,
    /// Of her age on the Sunday.
    pub age: Option<&'static str>,
}

/// A flag of the week.
#[derive(Debug, Clone)]
pub struct FlagSeen {
    /// The flag.
    pub flag_id: FlagId,
    /// Its version.
    pub version: i32,
    /// What was done about it, where it has not grown since.
    pub acknowledged: Option<Acknowledgement>,
}

impl SquadWeek {
    /// The name shown and the last weeks of each member, from the days that were read for the list.
    pub fn members(&self, week: IsoWeek) -> BTreeMap<AthleteId, (String, Vec<PlotWeek>)> {
        let member = |days: &AthleteDays| {
            let series = days.series.as_ref();
            let weeks = series.map(|series| plot_weeks(series, week));
            let name = days.athlete.display_name.clone();
            (days.athlete.athlete_id, (name, weeks.unwrap_or_default()))
        };
        self.read.days.iter().map(member).collect()
    }

    /// How many organisations that share nothing members train with.
    pub fn not_shared(&self) -> usize {
        let days = self.read.days.iter();
        let named = days.flat_map(|days| &days.elsewhere.not_shared);
        named
            .map(|name| name.to_lowercase())
            .collect::<BTreeSet<_>>()
            .len()
    }

    /// A member's name as it was known.
    pub fn name_of(&self, athlete: AthleteId) -> Option<&str> {
        let mut days = self.read.days.iter();
        let days = days.find(|days| days.athlete.athlete_id == athlete)?;
        Some(&days.athlete.display_name)
    }

    /// The arithmetic of the entries, by athlete.
    pub fn explain(
        &self,
        conn: &mut Conn,
        caller: &Caller,
    ) -> Result<BTreeMap<AthleteId, Explanation>, Problem> {
        let entries = self.list.entries.iter();
        let listed: BTreeSet<AthleteId> = entries.map(|entry| entry.key).collect();
        self.read.explain(conn, caller, &listed)
    }
}

/// Reads and judges the week: a query a table, whatever the number of athletes. Days of a running
/// week that are still to come count as empty.
pub fn read(conn: &mut Conn, tenant: Tenant, wanted: Wanted) -> Result<SquadWeek, Problem> {
    let (week, known) = (wanted.week, wanted.as_of.known);
    let (monday, sunday) = (week.monday(), week.sunday());
    let athletes = members(conn, tenant, wanted)?;
    let who = Who::Athletes(&athletes);
    let read = days(conn, tenant, who, wanted)?;
    let ratings = ratings::read(conn, tenant, who, (looks_back_to(week), sunday), known)?;
    let standing = flags::in_weeks(conn, tenant, who, monday, monday, known)?;
    let closed = correction::read(conn, tenant, who, week, known, &standing)?;
    let done = acknowledgement::standing(conn, tenant, wanted.squad_id, &standing, known)?;
    let ahead = match running_after(conn, tenant, wanted)? {
        Some(next) => {
            let schedule = Schedule::read(conn, tenant, &athletes, next, known)?;
            Some(schedule.over(&read.policies, &read.days, &ratings)?)
        }
        None => None,
    };
    let judge = Judge {
        week,
        policies: &read.policies,
        ratings: &ratings,
    };
    let judged = read.days.iter();
    let judged = judged.filter_map(|days| judge.week(days).transpose());
    let judged = judged.collect::<Result<Vec<_>, _>>()?;
    let open = read.days.iter();
    let notes = read.days.iter().map(|days| notes(days, &ratings, sunday));
    let notes = notes.collect();
    Ok(SquadWeek {
        list: weekly_list(judge.policy(), judged),
        policy: judge.policy().cloned(),
        flags: by_rule(standing, done),
        open: open
            .map(|days| (days.athlete.athlete_id, open_around(days, week)))
            .collect(),
        notes,
        closed,
        ahead,
        read,
    })
}

fn notes(
    days: &AthleteDays,
    ratings: &BTreeMap<AthleteId, OwnRatings>,
    sunday: Date,
) -> (AthleteId, RatingNotes) {
    let athlete = &days.athlete;
    let own = ratings.get(&athlete.athlete_id);
    let notes = RatingNotes {
        habits: own.and_then(OwnRatings::note),
        age: ratings::age_note(athlete.birth_date, sunday),
    };
    (athlete.athlete_id, notes)
}

/// The week after the list's, where it is the one that runs in the club's zone.
fn running_after(
    conn: &mut Conn,
    tenant: Tenant,
    wanted: Wanted,
) -> Result<Option<IsoWeek>, Problem> {
    let date = wanted.as_of.today(&zones::of_club(conn, tenant)?);
    let next = wanted.week.next();
    Ok(next.filter(|next| (next.monday()..=next.sunday()).contains(&date)))
}

/// Who was in the squad on any day of the week, each once.
fn members(conn: &mut Conn, tenant: Tenant, wanted: Wanted) -> Result<Vec<AthleteId>, Problem> {
    let (monday, sunday) = (wanted.week.monday(), wanted.week.sunday());
    let squads = [wanted.squad_id];
    let members =
        memberships::of_squads(conn, tenant, &squads, monday, sunday, wanted.as_of.known)?;
    let athletes = members.into_iter().map(|member| member.content.athlete_id);
    Ok(athletes.collect::<BTreeSet<_>>().into_iter().collect())
}

/// Every day that the week's figures look back to.
fn days(conn: &mut Conn, tenant: Tenant, who: Who<'_>, wanted: Wanted) -> Result<Read, Problem> {
    let (week, known) = (wanted.week, wanted.as_of.known);
    let policies = Policies::read(conn, tenant, known)?;
    let asked = Asked {
        first: returns::reads_from(conn, tenant, who, (week, week), known)?,
        last: week.sunday(),
        settings: None,
        known,
        now: wanted.as_of.now,
    };
    let days = figures::days(conn, tenant, who, &asked, &policies)?;
    Ok(Read {
        asked,
        policies,
        days,
    })
}

fn by_rule(
    standing: Vec<flags::Judged>,
    mut done: BTreeMap<FlagId, Acknowledgement>,
) -> BTreeMap<(AthleteId, String), FlagSeen> {
    let seen = |flags::Judged { flag, version }| {
        let seen = FlagSeen {
            flag_id: flag.flag_id,
            version: version.version,
            acknowledged: done.remove(&flag.flag_id),
        };
        ((flag.athlete_id, flag.rule), seen)
    };
    standing.into_iter().map(seen).collect()
}

/// What athletes' weeks are judged with.
struct Judge<'a> {
    week: IsoWeek,
    policies: &'a Policies,
    ratings: &'a BTreeMap<AthleteId, OwnRatings>,
}

impl Judge<'_> {
    /// The policy of the week's Sunday.
    fn policy(&self) -> Option<&Policy> {
        self.policies.at(self.week.sunday())
    }

    /// One athlete's week; `None` where she was not in the club yet.
    fn week(&self, days: &AthleteDays) -> Result<Option<AthleteWeek<AthleteId>>, Problem> {
        let Some(series) = &days.series else {
            return Ok(None);
        };
        let settings = self.policies.figures_at(self.week.sunday());
        let Ok(figures) = week_figures_of(series, &settings, self.week) else {
            return Ok(None);
        };
        let athlete = &days.athlete;
        let ratings = self.ratings.get(&athlete.athlete_id);
        let open = open_around(days, self.week);
        let open = open.iter().map(|one| open_session(one, ratings));
        Ok(Some(AthleteWeek {
            key: athlete.athlete_id,
            display_name: athlete.display_name.clone(),
            judgements: self
                .policy()
                .map(|policy| judge_figures(policy, &figures))
                .unwrap_or_default(),
            settings: by_setting(days, self.week)?,
            open: open.collect::<Result<_, _>>()?,
            figures,
        }))
    }
}

/// An athlete's open sessions of a week and of the 21 days before it, by their start.
fn open_around(days: &AthleteDays, week: IsoWeek) -> Vec<ExpectedSession> {
    let first = week.monday().saturating_sub(jiff::Span::new().days(21));
    let open = days.unlogged.iter();
    open.filter(|one| (first..=week.sunday()).contains(&one.load_date))
        .cloned()
        .collect()
}

fn open_session(
    one: &ExpectedSession,
    ratings: Option<&OwnRatings>,
) -> Result<OpenSession, Problem> {
    Ok(OpenSession {
        date: one.load_date,
        minutes: figures::minutes(one)?,
        usual: ratings.and_then(|ratings| ratings.usual(one.kind)),
    })
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
