//! What is known of athletes' days, read for figures: one query a table for any number of athletes.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::restriction::Restriction;
use plimsoll_domain::{Bounds, DailySeries, Load, Minutes, Rpe, Setting};

use super::elsewhere::{self, Elsewhere};
use super::policy::Policies;
use super::restrictions::standing;
use super::schedule::record::Record;
use super::schedule::standing::SessionStanding;
use super::series::{self, Facts, Logged};
use super::sessions::recount::Counts;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::absences::Absence;
use crate::store::athletes::Athlete;
use crate::store::day_totals::{self, DayTotal};
use crate::store::expected::{self, ExpectedSession};
use crate::store::{
    Conn, ExpectedState, Known, Tenant, Versioned, Who, absences, athletes, rest_days,
};

/// What is asked of the record.
#[derive(Debug, Clone)]
pub struct Asked {
    /// First date wanted; the membership may begin later.
    pub first: Date,
    /// Last date wanted.
    pub last: Date,
    /// Only these settings; all where `None`.
    pub settings: Option<Vec<Setting>>,
    /// What was known when.
    pub known: Known,
    /// Now: planned sessions are unlogged from their end on, unless an earlier state is asked for.
    pub now: Timestamp,
}

impl Asked {
    /// The instant the figures refer to.
    fn at(&self) -> Timestamp {
        match self.known {
            Known::Now => self.now,
            Known::AsOf(at) => at,
        }
    }

    /// Whether a setting counts.
    pub fn wants(&self, setting: Setting) -> bool {
        let settings = self.settings.as_ref();
        settings.is_none_or(|settings| settings.contains(&setting))
    }
}

/// One athlete's days.
#[derive(Debug, Clone)]
pub struct AthleteDays {
    /// Who.
    pub athlete: Athlete,
    /// Her days; `None` where the dates asked for hold none of her membership.
    pub series: Option<DailySeries>,
    /// The totals by date and setting they were made of.
    pub totals: Vec<DayTotal>,
    /// Her sessions that were expected, are over and were not answered, by their start.
    pub unlogged: Vec<ExpectedSession>,
    /// Her planned sessions that are not over and not answered, by their start.
    pub planned: Vec<ExpectedSession>,
    /// Her absences that have a day among the dates.
    pub absences: Vec<Absence>,
    /// The days of rest entered.
    pub rest_days: Vec<Date>,
    /// What clinicians limit on one of the dates.
    pub restrictions: Vec<Restriction>,
    /// What is known of her other organisations; what they share is among the totals.
    pub elsewhere: Elsewhere,
}

/// Reads the days of athletes, by id. Athletes not known then are left out.
pub fn days(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Vec<AthleteDays>, Problem> {
    let roster = athletes::known(conn, tenant, who, asked.known)?;
    days_of(conn, tenant, who, roster, asked, policies)
}

/// An athlete who is known now, as she was known then.
pub fn as_known(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: Versioned<Athlete>,
    known: Known,
) -> Result<Versioned<Athlete>, Problem> {
    if known == Known::Now {
        return Ok(athlete);
    }
    let who = [athlete.content.athlete_id];
    let found = athletes::known(conn, tenant, Who::Athletes(&who), known)?;
    found.into_iter().next().ok_or_else(Problem::not_found)
}

/// Reads the days of one athlete, as she was known then.
pub fn days_of_one(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: Versioned<Athlete>,
    asked: &Asked,
    policies: &Policies,
) -> Result<AthleteDays, Problem> {
    let who = [athlete.content.athlete_id];
    let who = Who::Athletes(&who);
    let found = days_of(conn, tenant, who, vec![athlete], asked, policies)?;
    found.into_iter().next().ok_or_else(Problem::not_found)
}

fn days_of(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    roster: Vec<Versioned<Athlete>>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Vec<AthleteDays>, Problem> {
    let (first, last) = (asked.first, asked.last);
    let ids: Vec<AthleteId> = roster.iter().map(|one| one.content.athlete_id).collect();
    let Rows {
        totals,
        open,
        planned,
    } = rows(conn, tenant, who, &ids, asked, policies)?;
    let mut totals = grouped(totals, |row| row.athlete_id);
    let mut open = grouped(open, |one| one.athlete_id);
    let mut planned = grouped(planned, |one| one.athlete_id);
    let rest = rest_days::in_dates(conn, tenant, who, first, last, asked.known)?;
    let mut rest = grouped(rest, |row| row.content.athlete_id);
    let absent = absences::in_dates(conn, tenant, who, first, last, asked.known)?;
    let mut absent = grouped(absent, |row| row.content.athlete_id);
    let mut restricted = standing::in_dates(conn, tenant, who, (first, last), asked.known)?;
    let state = (asked.known, asked.now);
    let mut elsewhere = elsewhere::read(conn, tenant, who, (first, last), state)?;
    let of_athlete = |Versioned { content, .. }: Versioned<Athlete>| {
        let id = content.athlete_id;
        let own = Rows {
            totals: totals.remove(&id).unwrap_or_default(),
            open: open.remove(&id).unwrap_or_default(),
            planned: planned.remove(&id).unwrap_or_default(),
        };
        let rest = rest.remove(&id).unwrap_or_default().into_iter();
        let absent = absent.remove(&id).unwrap_or_default().into_iter();
        let off = DaysOff {
            rest_days: rest.map(|day| day.content.date).collect(),
            absences: absent.map(|span| span.content).collect(),
            restrictions: restricted.remove(&id).unwrap_or_default(),
        };
        let elsewhere = elsewhere.remove(&id).unwrap_or_default();
        made_of(content, own, (off, elsewhere), asked)
    };
    roster.into_iter().map(of_athlete).collect()
}

/// Days on which an athlete did not train by her own word or another's, and what she was limited to.
#[derive(Debug, Clone, Default)]
pub struct DaysOff {
    /// The days of rest entered, ascending.
    pub rest_days: Vec<Date>,
    /// Absences.
    pub absences: Vec<Absence>,
    /// What clinicians limit.
    pub restrictions: Vec<Restriction>,
}

/// The days of one athlete whose sessions and days off were read already.
pub fn days_of_record(
    athlete: Athlete,
    sessions: &[SessionStanding<'_>],
    beside: (DaysOff, Elsewhere),
    asked: &Asked,
    policies: &Policies,
) -> Result<AthleteDays, Problem> {
    let of_athlete = std::iter::once((athlete.athlete_id, sessions));
    let rows = settled(counted(of_athlete, asked, policies)?, asked);
    made_of(athlete, rows, beside, asked)
}

/// One athlete's days, made of what was read of her.
fn made_of(
    athlete: Athlete,
    mut own: Rows,
    (off, elsewhere): (DaysOff, Elsewhere),
    asked: &Asked,
) -> Result<AthleteDays, Problem> {
    if asked.wants(Setting::SecondClub) {
        let (id, shared) = (athlete.athlete_id, &elsewhere.shared);
        own.totals = elsewhere::with_shared(own.totals, id, shared);
    }
    let spans = off.absences.iter();
    let facts = Facts {
        logged: logged(&own.totals, &own.open)?,
        rest: off.rest_days.clone(),
        absences: spans.map(|one| (one.from_date, one.to_date)).collect(),
    };
    let limits = off.restrictions.iter();
    let limits = limits.filter_map(Restriction::limited_span).collect();
    let series = series::build(athlete.joined_on, asked.first, asked.last, &facts)?;
    let series = series.map(|series| series.with_limits(limits));
    let mut unlogged = own.open;
    unlogged.retain(|one| leaves_open(series.as_ref(), one.load_date));
    Ok(AthleteDays {
        athlete,
        series,
        totals: own.totals,
        unlogged,
        planned: own.planned,
        absences: off.absences,
        rest_days: off.rest_days,
        restrictions: off.restrictions,
        elsewhere,
    })
}

/// Whether unlogged sessions of a date are open: no rest or absence answers for them.
fn leaves_open(series: Option<&DailySeries>, date: Date) -> bool {
    let day = series.and_then(|series| series.day(date));
    day.is_some_and(|day| day.unlogged() > 0)
}

/// What days are made of.
struct Rows {
    /// Totals by athlete, date and setting.
    totals: Vec<DayTotal>,
    /// Planned sessions that are over and not answered, by athlete and start.
    open: Vec<ExpectedSession>,
    /// Those that are not over.
    planned: Vec<ExpectedSession>,
}

/// The stored rows, or those of a past state of knowledge rebuilt from the versions known then.
/// Whether a planned session is over is decided here: time passes without anything being written.
fn rows(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    athletes: &[AthleteId],
    asked: &Asked,
    policies: &Policies,
) -> Result<Rows, Problem> {
    let rows = match asked.known {
        Known::Now => stored(conn, tenant, who, asked)?,
        Known::AsOf(_) => rebuilt(conn, tenant, athletes, asked, policies)?,
    };
    Ok(settled(rows, asked))
}

/// Only what is asked for, and what is over apart from what is not.
fn settled(mut rows: Rows, asked: &Asked) -> Rows {
    rows.totals.retain(|row| asked.wants(row.setting));
    rows.open.retain(|one| asked.wants(one.setting));
    let over = |one: &ExpectedSession| one.ends_at <= asked.at();
    (rows.open, rows.planned) = rows.open.into_iter().partition(over);
    rows
}

fn stored(conn: &mut Conn, tenant: Tenant, who: Who<'_>, asked: &Asked) -> Result<Rows, Problem> {
    let (first, last) = (asked.first, asked.last);
    let totals = day_totals::in_dates(conn, tenant, who, first, last)?;
    let open = if totals.iter().any(|row| row.totals.unlogged > 0) {
        expected::open_in_dates(conn, tenant, who, first, last)?
    } else {
        Vec::new()
    };
    Ok(Rows {
        totals,
        open,
        planned: Vec::new(),
    })
}

fn rebuilt(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    asked: &Asked,
    policies: &Policies,
) -> Result<Rows, Problem> {
    let dates = (asked.first, asked.last);
    let record = Record::read(conn, tenant, athletes, dates, asked.known)?;
    let sessions = record.sessions()?;
    let of_each = sessions
        .iter()
        .map(|(athlete, sessions)| (*athlete, sessions.as_slice()));
    counted(of_each, asked, policies)
}

/// The totals that sessions come to, and the planned ones among them that are not answered.
fn counted<'a>(
    sessions: impl Iterator<Item = (AthleteId, &'a [SessionStanding<'a>])>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Rows, Problem> {
    let mut counts = Counts::default();
    for (athlete, sessions) in sessions {
        counts.add(athlete, sessions, policies)?;
    }
    counts.retain(|_, date| (asked.first..=asked.last).contains(&date));
    let totals = counts.days.into_iter();
    let totals = totals.flat_map(|((athlete_id, date), settings)| {
        settings.into_iter().map(move |(setting, totals)| DayTotal {
            athlete_id,
            date,
            setting,
            totals,
        })
    });
    let open = counts.expected.into_values().flatten();
    Ok(Rows {
        totals: totals.collect(),
        open: open
            .filter(|one| one.state == ExpectedState::Open)
            .collect(),
        planned: Vec::new(),
    })
}

/// Sums the settings of each date; rows come ordered by date, planned sessions by their start.
fn logged(rows: &[DayTotal], open: &[ExpectedSession]) -> Result<Vec<Logged>, Problem> {
    let mut of_date: BTreeMap<Date, Vec<&ExpectedSession>> = BTreeMap::new();
    for one in open {
        of_date.entry(one.load_date).or_default().push(one);
    }
    rows.chunk_by(|a, b| a.date == b.date)
        .map(|rows| {
            let date = rows[0].date;
            let open = of_date.remove(&date).unwrap_or_default();
            logged_on(date, rows, &open)
        })
        .collect()
}

/// One date. A planned session that is not over yet is not expected yet; one that is over and not
/// answered may have been as hard as the scale goes for as long as was planned.
fn logged_on(date: Date, rows: &[DayTotal], open: &[&ExpectedSession]) -> Result<Logged, Problem> {
    let mut day = Logged {
        date,
        load: Bounds::exact(Load::ZERO),
        minutes: 0,
        sessions: 0,
        expected: u32::try_from(open.len()).map_err(|error| Problem::internal(&error))?,
        unlogged: u32::try_from(open.len()).map_err(|error| Problem::internal(&error))?,
        unlogged_at_most: Load::ZERO,
    };
    for row in rows {
        let totals = &row.totals;
        day.load = day.load
            + Bounds {
                low: load(totals.low_half)?,
                point: load(totals.logged_half)?,
                high: load(totals.high_half)?,
            };
        day.minutes += count(totals.minutes)?;
        day.sessions += count(totals.sessions)?;
        day.expected += count(totals.expected - totals.unlogged)?;
    }
    for one in open {
        day.unlogged_at_most += at_most(one)?;
    }
    Ok(day)
}

/// The most an unlogged session can have been: session RPE 10 for its planned minutes.
pub fn at_most(one: &ExpectedSession) -> Result<Load, Problem> {
    Ok(Load::of(Rpe::MAX, minutes(one)?))
}

/// The minutes of a planned session; a number outside 1 to 600 is a defect.
pub fn minutes(one: &ExpectedSession) -> Result<Minutes, Problem> {
    Minutes::new(one.minutes.into()).map_err(|error| Problem::internal(&error))
}

/// A stored load; one that is negative or beyond any day is a defect.
pub fn load(half_au: i64) -> Result<Load, Problem> {
    Load::from_half_au(half_au).ok_or_else(|| Problem::internal(&"a stored load is out of range"))
}

fn count(stored: i32) -> Result<u32, Problem> {
    u32::try_from(stored).map_err(|error| Problem::internal(&error))
}

fn grouped<T>(rows: Vec<T>, key: impl Fn(&T) -> AthleteId) -> BTreeMap<AthleteId, Vec<T>> {
    let mut groups: BTreeMap<AthleteId, Vec<T>> = BTreeMap::new();
    for row in rows {
        groups.entry(key(&row)).or_default().push(row);
    }
    groups
}
