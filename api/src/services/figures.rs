//! What is known of athletes' days, read for figures: one query a table for any number of athletes.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::{Bounds, DailySeries, Load, Setting};

use super::policy::Policies;
use super::series::{self, Facts, Logged};
use super::sessions::recount;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::athletes::Athlete;
use crate::store::day_totals::{self, DayTotal, Days};
use crate::store::{Conn, Known, Tenant, Versioned, Who, absences, athletes, rest_days, sessions};

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

/// Reads the days of one athlete, as she is known now; her past, where it is asked for, is looked up.
pub fn days_of_one(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: Versioned<Athlete>,
    asked: &Asked,
    policies: &Policies,
) -> Result<AthleteDays, Problem> {
    let who = [athlete.content.athlete_id];
    let who = Who::Athletes(&who);
    let found = match asked.known {
        Known::Now => days_of(conn, tenant, who, vec![athlete], asked, policies)?,
        Known::AsOf(_) => days(conn, tenant, who, asked, policies)?,
    };
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
    let totals = day_rows(conn, tenant, who, asked, policies)?;
    let mut totals = grouped(totals, |row| row.athlete_id);
    let rest = rest_days::in_dates(conn, tenant, who, first, last, asked.known)?;
    let mut rest = grouped(rest, |row| row.content.athlete_id);
    let absent = absences::in_dates(conn, tenant, who, first, last, asked.known)?;
    let mut absent = grouped(absent, |row| row.content.athlete_id);
    roster
        .into_iter()
        .map(
            |Versioned {
                 content: athlete, ..
             }| {
                let id = athlete.athlete_id;
                let totals = totals.remove(&id).unwrap_or_default();
                let rest = rest.remove(&id).unwrap_or_default();
                let absent = absent.remove(&id).unwrap_or_default();
                let facts = Facts {
                    logged: logged(&totals)?,
                    rest: rest.iter().map(|day| day.content.date).collect(),
                    absences: absent
                        .iter()
                        .map(|span| (span.content.from_date, span.content.to_date))
                        .collect(),
                };
                let series = series::build(athlete.joined_on, first, last, &facts)?;
                Ok(AthleteDays {
                    athlete,
                    series,
                    totals,
                })
            },
        )
        .collect()
}

/// The totals by athlete, date and setting: the stored ones, or those of a past state of knowledge
/// rebuilt from the versions known then.
fn day_rows(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Vec<DayTotal>, Problem> {
    let mut rows = match asked.known {
        Known::Now => day_totals::in_dates(conn, tenant, who, asked.first, asked.last)?,
        Known::AsOf(_) => rebuilt(conn, tenant, who, asked, policies)?,
    };
    if let Some(settings) = &asked.settings {
        rows.retain(|row| settings.contains(&row.setting));
    }
    Ok(rows)
}

fn rebuilt(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Vec<DayTotal>, Problem> {
    let day = jiff::Span::new().days(1);
    // A session of the day before or after may overlap over midnight.
    let (from, to) = (
        asked.first.saturating_sub(day),
        asked.last.saturating_add(day),
    );
    let reports = sessions::in_dates(conn, tenant, who, from, to, asked.known)?;
    let mut days = Days::new();
    for of_one in reports.chunk_by(|a, b| a.content.athlete_id == b.content.athlete_id) {
        let of_one: Vec<_> = of_one.iter().map(|report| &report.content).collect();
        recount::count(&of_one, policies, &mut days)?;
    }
    let asked_for = days
        .into_iter()
        .filter(|((_, date), _)| (asked.first..=asked.last).contains(date));
    let rows = asked_for.flat_map(|((athlete_id, date), settings)| {
        settings.into_iter().map(move |(setting, totals)| DayTotal {
            athlete_id,
            date,
            setting,
            totals,
        })
    });
    Ok(rows.collect())
}

/// Sums the settings of each date; rows come ordered by date.
fn logged(rows: &[DayTotal]) -> Result<Vec<Logged>, Problem> {
    rows.chunk_by(|a, b| a.date == b.date)
        .map(|rows| logged_on(rows[0].date, rows))
        .collect()
}

fn logged_on(date: Date, rows: &[DayTotal]) -> Result<Logged, Problem> {
    let mut day = Logged {
        date,
        load: Bounds::exact(Load::ZERO),
        minutes: 0,
        sessions: 0,
        expected: 0,
        unlogged: 0,
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
        day.expected += count(totals.expected)?;
        day.unlogged += count(totals.unlogged)?;
    }
    Ok(day)
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
