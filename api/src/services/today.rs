//! A squad's day: who is available and under which limits, what is done already, who is expected at what.
//!
//! Instructions, never reasons: see [`availability`].

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::{DayTotal, IsoWeek};

use super::as_of::AsOf;
use super::availability::{self, Standing};
use super::explain::Read;
use super::figures::{self, Asked, AthleteDays};
use super::policy::Policies;
use super::ratings::age_note;
use super::returns;
use super::schedule::plan::Plan;
use super::zones;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::store::events::Event;
use crate::store::{AttendanceStatus, Conn, Tenant, Who, memberships};

/// A squad's day.
#[derive(Debug)]
pub struct SquadDay {
    /// The date in the club's zone.
    pub date: Date,
    /// What is planned for any of the athletes, by start.
    pub sessions: Vec<Event>,
    /// The members of that date, by name.
    pub athletes: Vec<AthleteDay>,
    /// What it was made of.
    pub read: Read,
}

/// One member's day.
#[derive(Debug)]
pub struct AthleteDay {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// How far she takes part.
    pub standing: Standing,
    /// Whether a day of rest is entered.
    pub rest_declared: bool,
    /// What is logged of the day so far; `None` before her first day in the club.
    pub done: Option<DayTotal>,
    /// The sessions she is expected at.
    pub expected: Vec<Expected>,
    /// What her age says of her ratings.
    pub age_note: Option<&'static str>,
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
    as_of: AsOf,
) -> Result<SquadDay, Problem> {
    let (date, known) = (as_of.today(zone), as_of.known);
    let members = memberships::of_squads(conn, tenant, &[squad], date, date, known)?;
    let members = members.into_iter().map(|member| member.content.athlete_id);
    let members: Vec<AthleteId> = members.collect::<BTreeSet<_>>().into_iter().collect();
    let policies = Policies::read(conn, tenant, known)?;
    let asked = asked(conn, tenant, &members, date, as_of)?;
    let who = Who::Athletes(&members);
    let mut days = figures::days(conn, tenant, who, &asked, &policies)?;
    days.sort_by(|a, b| by_name(a).cmp(&by_name(b)));
    let plan = Plan::read(conn, tenant, &members, (date, date), known)?;
    let sessions = sessions(&plan, &members);
    let athletes = days.iter();
    let athletes = athletes.map(|days| athlete(days, date, &policies, &plan, &sessions));
    Ok(SquadDay {
        date,
        athletes: athletes.collect(),
        sessions,
        read: Read {
            asked,
            policies,
            days,
        },
    })
}

/// How far one athlete takes part on a date, today in the club's zone unless given. Ceilings are for days
/// that are there, and for callers who may see the club's limits.
pub fn of_one(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    date: Option<Date>,
    (as_of, sees_limits): (AsOf, bool),
) -> Result<(Date, Standing), Problem> {
    let today = zones::club_date(conn, tenant, as_of.at())?;
    let date = date.unwrap_or(today);
    let policies = Policies::read(conn, tenant, as_of.known)?;
    let asked = asked(conn, tenant, &[athlete], date, as_of)?;
    let days = figures::days(conn, tenant, Who::Athletes(&[athlete]), &asked, &policies)?;
    let days = days.first().ok_or_else(Problem::not_found)?;
    let policies = (sees_limits && date <= today).then_some(&policies);
    Ok((date, availability::on(days, date, policies)))
}

fn by_name(days: &AthleteDays) -> (&str, AthleteId) {
    (&days.athlete.display_name, days.athlete.athlete_id)
}

/// What is asked of the record: every day that a ceiling of some athletes looks back to.
fn asked(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    date: Date,
    as_of: AsOf,
) -> Result<Asked, Problem> {
    let week = IsoWeek::of(date).map_err(|error| Problem::internal(&error))?;
    let who = Who::Athletes(athletes);
    Ok(Asked {
        first: returns::reads_from(conn, tenant, who, (week, week), as_of.known)?,
        last: date,
        settings: None,
        known: as_of.known,
        now: as_of.now,
    })
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
    AthleteDay {
        athlete_id,
        display_name: days.athlete.display_name.clone(),
        standing: availability::on(days, date, Some(policies)),
        rest_declared: days.rest_days.contains(&date),
        done: days
            .series
            .as_ref()
            .and_then(|series| series.day(date))
            .copied(),
        expected: expected.collect(),
        age_note: age_note(days.athlete.birth_date, date),
    }
}
