//! A squad's day: who is available and under which limits, what is done already, who is expected at what.
//!
//! Instructions, never reasons: an absence says until when, not why.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::{Timestamp, tz::TimeZone};
use plimsoll_domain::{
    DayTotal, IsoWeek, Ramp, RampWeek, Reason, RuleCode, return_week, returning_on,
};

use super::figures::{self, Asked, AthleteDays};
use super::policy::Policies;
use super::returns;
use super::schedule::plan::Plan;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::store::absences::Absence;
use crate::store::events::Event;
use crate::store::{AttendanceStatus, Conn, Known, Tenant, Who, memberships};

/// A squad's day.
#[derive(Debug)]
pub struct SquadDay {
    /// The date in the club's zone.
    pub date: Date,
    /// What is planned for any of the athletes, by start.
    pub sessions: Vec<Event>,
    /// The members of that date, by name.
    pub athletes: Vec<AthleteDay>,
}

/// One member's day.
#[derive(Debug)]
pub struct AthleteDay {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// The last day of the absence she is in.
    pub away_until: Option<Date>,
    /// Whether a day of rest is entered.
    pub rest_declared: bool,
    /// The ceiling she is under after an absence, or why it cannot be given.
    pub ceiling: Option<Result<Ceiling, Reason>>,
    /// What is logged of the day so far; `None` before her first day in the club.
    pub done: Option<DayTotal>,
    /// The sessions she is expected at.
    pub expected: Vec<Expected>,
}

/// A ceiling that governs the day.
#[derive(Debug)]
pub struct Ceiling {
    /// The week of the return.
    pub week: RampWeek,
    /// What it means, in one sentence.
    pub instruction: String,
}

impl Ceiling {
    fn new((ramp, week): (Ramp, RampWeek)) -> Self {
        Self {
            week,
            instruction: return_week(&ramp, &week),
        }
    }
}

/// A session she is expected at.
#[derive(Debug, Clone, Copy)]
pub struct Expected {
    /// The place in the list of sessions.
    pub session: usize,
    /// What the attendance list says of her.
    pub attendance: Option<AttendanceStatus>,
}

/// Reads a squad's day: a query a table, whatever the number of athletes.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    squad: SquadId,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<SquadDay, Problem> {
    let date = zone.to_datetime(now).date();
    let members = memberships::of_squads(conn, tenant, &[squad], date, date, Known::Now)?;
    let members = members.into_iter().map(|member| member.content.athlete_id);
    let members: Vec<AthleteId> = members.collect::<BTreeSet<_>>().into_iter().collect();
    let policies = Policies::read(conn, tenant, Known::Now)?;
    let mut days = days(conn, tenant, &members, date, now, &policies)?;
    days.sort_by(|a, b| by_name(a).cmp(&by_name(b)));
    let plan = Plan::read(conn, tenant, &members, (date, date), Known::Now)?;
    let sessions = sessions(&plan, &members);
    let athletes = days.iter();
    let athletes = athletes.map(|days| athlete(days, date, &policies, &plan, &sessions));
    Ok(SquadDay {
        date,
        athletes: athletes.collect(),
        sessions,
    })
}

fn by_name(days: &AthleteDays) -> (&str, AthleteId) {
    (&days.athlete.display_name, days.athlete.athlete_id)
}

/// Every day that a ceiling looks back to.
fn days(
    conn: &mut Conn,
    tenant: Tenant,
    members: &[AthleteId],
    date: Date,
    now: Timestamp,
    policies: &Policies,
) -> Result<Vec<AthleteDays>, Problem> {
    let week = IsoWeek::of(date).map_err(|error| Problem::internal(&error))?;
    let who = Who::Athletes(members);
    let asked = Asked {
        first: returns::reads_from(conn, tenant, who, (week, week), Known::Now)?,
        last: date,
        settings: None,
        known: Known::Now,
        now,
    };
    figures::days(conn, tenant, who, &asked, policies)
}

/// What is planned for any of the members, each once, by start.
fn sessions(plan: &Plan, members: &[AthleteId]) -> Vec<Event> {
    let planned = members.iter().flat_map(|member| plan.of(*member, &[]));
    let mut sessions: Vec<Event> = planned
        .filter(|one| one.expected)
        .map(|one| one.event.clone())
        .collect();
    sessions.sort_by_key(|event| (event.starts_at, event.event_id));
    sessions.dedup_by_key(|event| event.event_id);
    sessions
}

fn athlete(
    days: &AthleteDays,
    date: Date,
    policies: &Policies,
    plan: &Plan,
    sessions: &[Event],
) -> AthleteDay {
    let athlete_id = days.athlete.athlete_id;
    let planned = plan.of(athlete_id, &[]);
    let expected = planned.iter().filter(|one| one.expected);
    let expected = expected.filter_map(|one| {
        let mut sessions = sessions.iter();
        Some(Expected {
            session: sessions.position(|session| session.event_id == one.event.event_id)?,
            attendance: one.attendance.map(|entry| entry.status),
        })
    });
    let away_until = away_until(&days.absences, date);
    AthleteDay {
        athlete_id,
        display_name: days.athlete.display_name.clone(),
        away_until,
        rest_declared: days.rest_days.contains(&date),
        ceiling: match away_until {
            Some(_) => None,
            None => ceiling(days, date, policies),
        },
        done: days
            .series
            .as_ref()
            .and_then(|series| series.day(date))
            .copied(),
        expected: expected.collect(),
    }
}

fn away_until(absences: &[Absence], date: Date) -> Option<Date> {
    let held = absences
        .iter()
        .filter(|one| (one.from_date..=one.to_date).contains(&date));
    held.map(|one| one.to_date).max()
}

/// The ceiling of the day, where the policy has the rule and the athlete comes back from an absence.
fn ceiling(days: &AthleteDays, date: Date, policies: &Policies) -> Option<Result<Ceiling, Reason>> {
    let rule = policies.at(date)?.rule(RuleCode::ReturnCeiling)?;
    let series = days.series.as_ref().filter(|_| rule.enabled)?;
    let settings = policies.figures_at(date);
    let returning = returning_on(series, date, &settings)?;
    Some(returning.map(Ceiling::new))
}
