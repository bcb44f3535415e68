//! Flags of closed weeks: raised, withdrawn when the data changed, raised again, never deleted.
//!
//! A flag is one club, athlete, rule and ISO week. It is judged when the week is closed, and again
//! in the transaction of every change that reaches a closed week. Each different judgement is a new
//! version.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::{Certainty, IsoWeek, Judgement, Outcome, judge};
use serde_json::Value;

use super::figures::{self, Asked, AthleteDays};
use super::local_time::LATEST;
use super::notices::{self, Notice};
use super::policy::Policies;
use super::returns::{self, Away};
use super::write::Change;
use crate::error::Problem;
use crate::ids::{AthleteId, FlagId};
use crate::store::flags::{self, Judged, NewFlag, NewFlagVersion};
use crate::store::{self, DaySet, FlagState, Known, Who, weeks};
use crate::web::finding;

/// Weeks before a judged week that a judgement may look at: 26, and one for their own prior days.
const LOOKS_BACK_WEEKS: i32 = 27;
/// Weeks after a changed day whose judgement it can reach.
const REACHES_WEEKS: i32 = 26;

/// Why flags are judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The week was closed.
    WeekClosed,
    /// A report, rest day, absence or first day changed.
    DataChanged,
    /// The club's first policy came into force for weeks that were closed without one.
    PolicyChanged,
}

impl Cause {
    fn code(self) -> &'static str {
        match self {
            Cause::WeekClosed => "week_closed",
            Cause::DataChanged => "data_changed",
            Cause::PolicyChanged => "policy_changed",
        }
    }
}

/// Judges the closed weeks that changed days reach: those of the days between the first and the last
/// too, since a span of absence or another first day changes each of them.
pub fn rejudge(change: &mut Change<'_>, touched: &DaySet) -> Result<(), Problem> {
    // A session over midnight is counted with the day before and the day after, which may be of another week.
    let touched = &touched.around(1);
    let Some(first) = touched.spans().map(|(_, (first, _))| first).min() else {
        return Ok(());
    };
    let mut closed = closed_weeks(change, week_of(first)?, week_of(LATEST)?)?;
    // So it is with most reports: their week is still running.
    if closed.is_empty() {
        return Ok(());
    }
    let spans = weeks_reached(change, touched)?;
    let last = spans.values().map(|(_, last)| *last).max();
    closed.retain(|week| Some(*week) <= last);
    let athletes: Vec<AthleteId> = spans.keys().copied().collect();
    let reached = |athlete: AthleteId, week: IsoWeek| {
        let span = spans.get(&athlete);
        span.is_some_and(|(first, last)| (*first..=*last).contains(&week))
    };
    judge_weeks(
        change,
        Who::Athletes(&athletes),
        &closed,
        reached,
        Cause::DataChanged,
    )
}

/// The weeks whose figures changed days can change, by athlete: the first and the last.
fn weeks_reached(
    change: &mut Change<'_>,
    touched: &DaySet,
) -> Result<BTreeMap<AthleteId, (IsoWeek, IsoWeek)>, Problem> {
    let away = absences_resting_on(change, touched)?;
    let weeks = |(athlete, (first, last)): (AthleteId, (Date, Date))| {
        let own = away.iter().filter(|away| away.athlete == athlete);
        let through_absence = own.filter_map(|away| returns::reaches(away, last)).max();
        let reaches_to = shifted(week_of(last)?, REACHES_WEEKS);
        let reaches_to = match through_absence {
            Some(date) => reaches_to.max(week_of(date)?),
            None => reaches_to,
        };
        Ok((athlete, (week_of(first)?, reaches_to)))
    };
    touched.spans().map(weeks).collect()
}

fn absences_resting_on(change: &mut Change<'_>, touched: &DaySet) -> Result<Vec<Away>, Problem> {
    let athletes: Vec<AthleteId> = touched.spans().map(|(athlete, _)| athlete).collect();
    let Some(first) = touched.spans().map(|(_, (first, _))| first).min() else {
        return Ok(Vec::new());
    };
    let tenant = change.tenant();
    returns::resting_on(change.conn, tenant, &athletes, first)
}

/// Judges the closed weeks that a new policy governs. Only a club's first policy reaches any.
pub fn judge_since(change: &mut Change<'_>, effective_from: Date) -> Result<(), Problem> {
    let first = week_of(effective_from)?;
    let closed = closed_weeks(change, first, week_of(LATEST)?)?;
    judge_weeks(
        change,
        Who::WholeClub,
        &closed,
        |_, _| true,
        Cause::PolicyChanged,
    )
}

fn closed_weeks(
    change: &mut Change<'_>,
    first: IsoWeek,
    last: IsoWeek,
) -> Result<Vec<IsoWeek>, Problem> {
    let tenant = change.tenant();
    let closed = weeks::in_dates(change.conn, tenant, first.monday(), last.monday())?;
    closed.iter().map(|week| week_of(week.monday)).collect()
}

/// Judges every athlete's week at its close.
pub fn judge_closed(change: &mut Change<'_>, week: IsoWeek) -> Result<(), Problem> {
    judge_weeks(
        change,
        Who::WholeClub,
        &[week],
        |_, _| true,
        Cause::WeekClosed,
    )
}

fn judge_weeks(
    change: &mut Change<'_>,
    who: Who<'_>,
    closed: &[IsoWeek],
    reached: impl Fn(AthleteId, IsoWeek) -> bool,
    cause: Cause,
) -> Result<(), Problem> {
    let (Some(first), Some(last)) = (closed.first(), closed.last()) else {
        return Ok(());
    };
    let tenant = change.tenant();
    let policies = Policies::read(change.conn, tenant, Known::Now)?;
    let weeks = (*first, *last);
    let asked = Asked {
        first: returns::reads_from(change.conn, tenant, who, weeks, Known::Now)?,
        last: last.sunday(),
        settings: None,
        known: Known::Now,
        now: change.at(),
    };
    let athletes = figures::days(change.conn, tenant, who, &asked, &policies)?;
    let standing = flags::in_weeks(
        change.conn,
        tenant,
        who,
        first.monday(),
        last.monday(),
        Known::Now,
    )?;
    let standing: BTreeMap<Key, Judged> = standing
        .into_iter()
        .map(|judged| (Key::of(&judged), judged))
        .collect();
    let mut verdicts = Vec::new();
    for days in &athletes {
        for week in closed
            .iter()
            .filter(|week| reached(days.athlete.athlete_id, **week))
        {
            verdicts.extend(judge_week(days, *week, &policies));
        }
    }
    verdicts.extend(fallen(&standing, &verdicts, reached)?);
    append(change, verdicts, &standing, cause)
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    athlete: AthleteId,
    rule: String,
    monday: Date,
}

impl Key {
    fn of(judged: &Judged) -> Self {
        Self {
            athlete: judged.flag.athlete_id,
            rule: judged.flag.rule.clone(),
            monday: judged.flag.monday,
        }
    }
}

/// What a rule says now of one athlete's week.
struct Verdict {
    key: Key,
    certainty: Option<Certainty>,
    policy_version: i32,
    body: Value,
}

/// Judges one athlete's week by the policy of its Sunday. Without a policy, or before the athlete
/// belonged to the club, nothing is judged.
fn judge_week(days: &AthleteDays, week: IsoWeek, policies: &Policies) -> Vec<Verdict> {
    let (Some(policy), Some(series)) = (policies.at(week.sunday()), &days.series) else {
        return Vec::new();
    };
    let judgements = judge(policy, series, week).unwrap_or_default();
    let verdict = |judgement: &Judgement| Verdict {
        key: Key {
            athlete: days.athlete.athlete_id,
            rule: judgement.rule.code().to_owned(),
            monday: week.monday(),
        },
        certainty: match judgement.outcome {
            Outcome::Raised(certainty) => Some(certainty),
            Outcome::NotRaised | Outcome::NotComputable(_) => None,
        },
        policy_version: i32::try_from(policy.version).unwrap_or(i32::MAX),
        body: finding::judged(judgement),
    };
    judgements.iter().map(verdict).collect()
}

/// Raised flags of weeks that are no longer judged, such as weeks before a later first day: they hold
/// no longer.
fn fallen(
    standing: &BTreeMap<Key, Judged>,
    verdicts: &[Verdict],
    reached: impl Fn(AthleteId, IsoWeek) -> bool,
) -> Result<Vec<Verdict>, Problem> {
    let judged: BTreeSet<&Key> = verdicts.iter().map(|verdict| &verdict.key).collect();
    let mut fallen = Vec::new();
    for (key, flag) in standing {
        let week = week_of(key.monday)?;
        let raised = flag.version.state == FlagState::Raised;
        if raised && !judged.contains(key) && reached(key.athlete, week) {
            fallen.push(Verdict {
                key: key.clone(),
                certainty: None,
                policy_version: flag.version.policy_version,
                body: flag.version.body.clone(),
            });
        }
    }
    Ok(fallen)
}

/// Appends the verdicts that differ from what stands.
fn append(
    change: &mut Change<'_>,
    verdicts: Vec<Verdict>,
    standing: &BTreeMap<Key, Judged>,
    cause: Cause,
) -> Result<(), Problem> {
    let news: Vec<Verdict> = verdicts
        .into_iter()
        .filter(|verdict| is_news(verdict, standing.get(&verdict.key)))
        .collect();
    let wanted: Vec<NewFlag> = news
        .iter()
        .map(|verdict| NewFlag {
            flag_id: change.new_id(),
            athlete_id: verdict.key.athlete,
            rule: verdict.key.rule.clone(),
            monday: verdict.key.monday,
        })
        .collect();
    let tenant = change.tenant();
    let found = flags::find_or_create(change.conn, tenant, change.moment, &wanted)?;
    if !matches!(cause, Cause::WeekClosed) {
        tell_of_corrections(change, &wanted, &found)?;
    }
    let versions: Vec<NewFlagVersion> = news
        .into_iter()
        .zip(found)
        .map(|(verdict, flag)| NewFlagVersion {
            flag_id: flag.flag_id,
            state: match verdict.certainty {
                Some(_) => FlagState::Raised,
                None => FlagState::Withdrawn,
            },
            certainty: stored(verdict.certainty),
            policy_version: verdict.policy_version,
            cause: cause.code().to_owned(),
            body: verdict.body,
        })
        .collect();
    Ok(flags::append(
        change.conn,
        tenant,
        change.moment,
        &versions,
    )?)
}

/// A notice for each week whose flags changed after its close.
fn tell_of_corrections(
    change: &mut Change<'_>,
    wanted: &[NewFlag],
    found: &[flags::Flag],
) -> Result<(), Problem> {
    let mut weeks: BTreeMap<Date, Vec<FlagId>> = BTreeMap::new();
    for (new, flag) in wanted.iter().zip(found) {
        weeks.entry(new.monday).or_default().push(flag.flag_id);
    }
    let corrected = |(monday, flags)| {
        let week = week_of(monday)?;
        Ok(Notice::WeekCorrected { week, flags })
    };
    let notices = weeks.into_iter().map(corrected);
    notices::enqueue(change, &notices.collect::<Result<Vec<_>, Problem>>()?)
}

/// A raised flag that is new or has other figures, or a standing one that no longer holds.
fn is_news(verdict: &Verdict, standing: Option<&Judged>) -> bool {
    let raised = standing.filter(|judged| judged.version.state == FlagState::Raised);
    match (verdict.certainty, raised) {
        (None, None) => false,
        (None, Some(_)) | (Some(_), None) => true,
        (Some(certainty), Some(judged)) => {
            judged.version.certainty != stored(Some(certainty))
                || judged.version.body != verdict.body
        }
    }
}

fn stored(certainty: Option<Certainty>) -> store::Certainty {
    match certainty {
        Some(Certainty::Certain) => store::Certainty::Certain,
        Some(Certainty::Possible) => store::Certainty::Possible,
        None => store::Certainty::NotComputable,
    }
}

fn week_of(date: Date) -> Result<IsoWeek, Problem> {
    IsoWeek::of(date).map_err(|error| Problem::internal(&error))
}

/// So many weeks later or earlier; the week itself at the calendar's end.
pub fn shifted(week: IsoWeek, weeks: i32) -> IsoWeek {
    week.plus(weeks).unwrap_or(week)
}

/// The first date that judging a week looks at.
pub fn looks_back_to(week: IsoWeek) -> Date {
    shifted(week, -LOOKS_BACK_WEEKS).monday()
}
