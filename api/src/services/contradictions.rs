//! Sessions that a person should look at, because their sources do not agree.
//!
//! Nothing is chosen silently: what counts follows fixed rules, and where they had to choose, the
//! session is listed here with what each source says.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::restrictions::standing;
use super::schedule::record::Record;
use super::schedule::standing::SessionStanding;
use super::sessions::answer::{self, CountedAs};
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, EventId, SessionId};
use crate::services::reach::Reached;
use crate::store::sessions::Session;
use crate::store::{Conn, Known, Tenant, Who, absences, athletes, events};
use crate::web::figures::LoadBounds;

/// A session whose sources do not agree.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "load_date": "2026-09-07",
    "setting": "club", "why": ["minutes_differ"],
    "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "planned_minutes": 90,
    "attendance": "present", "attended_minutes": 85,
    "counted": {"rpe": 6.5, "minutes": 85, "load_au": 552.5, "from": "attendance"},
    "load_au": {"point": 552.5, "low": 450.0, "high": 585.0},
    "reports": [{"session_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "source": "club-app",
        "given_by": "athlete", "rpe": 6.5, "minutes": 75, "rpe_counts": true}]}))]
pub struct Contradiction {
    /// Whose session.
    pub athlete_id: AthleteId,
    /// The date its load belongs to.
    #[schema(value_type = String, format = Date)]
    pub load_date: Date,
    /// Who ran it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What does not agree; see /problems for each code.
    #[schema(value_type = Vec<String>)]
    pub why: Vec<Code>,
    /// The planned session it is.
    pub event_id: Option<EventId>,
    /// Planned minutes.
    pub planned_minutes: Option<i32>,
    /// What the attendance list says: present, partial, absent or unknown.
    #[schema(value_type = Option<String>)]
    pub attendance: Option<&'static str>,
    /// Minutes on the attendance list.
    pub attended_minutes: Option<i32>,
    /// What counts; null where a confirmed absence sets the reports aside.
    pub counted: Option<CountedAs>,
    /// The load that counts, and the range that is open until somebody asks.
    pub load_au: LoadBounds,
    /// What was reported.
    pub reports: Vec<Reported>,
}

/// One report of it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Reported {
    /// Its id.
    pub session_id: SessionId,
    /// The client that sent it.
    pub source: String,
    /// Who gave the rating.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// Session RPE.
    pub rpe: f64,
    /// Minutes.
    pub minutes: i32,
    /// Whether its rating is the one that counts.
    pub rpe_counts: bool,
}

impl Reported {
    /// One report of a session whose rating comes from the leading one.
    pub fn new(report: &Session, leading: Option<SessionId>) -> Result<Self, Problem> {
        Ok(Self {
            session_id: report.session_id,
            source: report.source.clone(),
            given_by: report.given_by.code(),
            rpe: answer::rpe(report)?.to_f64(),
            minutes: report.minutes,
            rpe_counts: leading == Some(report.session_id),
        })
    }
}

/// Where one stands in the list: date, athlete, first report.
pub type Place = (Date, AthleteId, SessionId);

/// Which are listed.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// First load date.
    pub from: Date,
    /// Last load date.
    pub to: Date,
    /// Only those after this place.
    pub after: Option<Place>,
    /// Also what was reported against a restriction or in an absence, which clinicians are told.
    pub against_restrictions: bool,
}

/// The sessions of everybody within reach on these dates whose sources do not agree, in their order.
pub fn list(
    conn: &mut Conn,
    tenant: Tenant,
    reached: &Reached,
    asked: Asked,
) -> Result<Vec<(Place, Contradiction)>, Problem> {
    let roster = athletes::known(conn, tenant, reached.who(), Known::Now)?;
    let ids: Vec<AthleteId> = roster.iter().map(|one| one.content.athlete_id).collect();
    let record = Record::read(conn, tenant, &ids, (asked.from, asked.to), Known::Now)?;
    let mut of_each = record.sessions()?;
    warn_of_moved_events(conn, tenant, &mut of_each)?;
    if asked.against_restrictions {
        warn_of_restrictions(conn, tenant, &ids, (asked.from, asked.to), &mut of_each)?;
    }
    let mut found = Vec::new();
    for (athlete, sessions) in of_each {
        for session in sessions {
            let Some(first) = session.reports.first() else {
                continue;
            };
            let place = (first.load_date, athlete, first.session_id);
            let listed = (asked.from..=asked.to).contains(&first.load_date)
                && asked.after.is_none_or(|after| after < place);
            if listed && !session.warnings.is_empty() {
                found.push((place, contradiction(athlete, first, &session)?));
            }
        }
    }
    found.sort_by_key(|(place, _)| *place);
    Ok(found)
}

/// Warns about reports that name an event which is on another date now.
fn warn_of_moved_events(
    conn: &mut Conn,
    tenant: Tenant,
    of_each: &mut BTreeMap<AthleteId, Vec<SessionStanding<'_>>>,
) -> Result<(), Problem> {
    let sessions = || of_each.values().flatten();
    let names: BTreeSet<&str> = sessions().flat_map(names_elsewhere).collect();
    let names: Vec<&str> = names.into_iter().collect();
    let planned = events::by_external_ids(conn, tenant, &names)?;
    let planned: BTreeSet<String> = planned
        .into_iter()
        .filter_map(|event| event.content.external_id)
        .collect();
    for session in of_each.values_mut().flatten() {
        if names_elsewhere(session).any(|name| planned.contains(name)) {
            session.warnings.push(Code::EventElsewhere);
        }
    }
    Ok(())
}

/// Warns about reports that go beyond a restriction, or lie in an absence. They count all the same.
fn warn_of_restrictions(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    dates: (Date, Date),
    of_each: &mut BTreeMap<AthleteId, Vec<SessionStanding<'_>>>,
) -> Result<(), Problem> {
    let who = Who::Athletes(athletes);
    let restricted = standing::in_dates(conn, tenant, who, dates, Known::Now)?;
    let away = absences::in_dates(conn, tenant, who, dates.0, dates.1, Known::Now)?;
    for (athlete, sessions) in of_each.iter_mut() {
        let own = restricted.get(athlete).map_or(&[][..], Vec::as_slice);
        for session in sessions {
            let Some(first) = session.reports.first() else {
                continue;
            };
            let date = first.load_date;
            let is_beyond = |report: &&Session| {
                let minutes = u16::try_from(report.minutes).unwrap_or(u16::MAX);
                let mut standing = own.iter().filter(|one| one.holds_on(date));
                standing.any(|one| one.is_exceeded_by(report.kind, minutes))
            };
            if session.reports.iter().any(is_beyond) {
                session.warnings.push(Code::DuringRestriction);
            }
            let is_away = away.iter().map(|one| &one.content).any(|one| {
                one.athlete_id == *athlete && (one.from_date..=one.to_date).contains(&date)
            });
            if is_away {
                session.warnings.push(Code::DuringRestOrAbsence);
            }
        }
    }
    Ok(())
}

/// The events that the reports of a session name without belonging to them.
fn names_elsewhere<'a>(session: &SessionStanding<'a>) -> impl Iterator<Item = &'a str> {
    let own = session
        .planned
        .and_then(|plan| plan.event.external_id.as_deref());
    let reports = session.reports.clone().into_iter();
    reports
        .filter_map(|report| report.event_external_id.as_deref())
        .filter(move |name| Some(*name) != own)
}

fn contradiction(
    athlete_id: AthleteId,
    first: &Session,
    session: &SessionStanding<'_>,
) -> Result<Contradiction, Problem> {
    let event = session.planned.map(|plan| plan.event);
    let entry = session.planned.and_then(|plan| plan.attendance);
    let leading = session.leading().map(|report| report.session_id);
    Ok(Contradiction {
        athlete_id,
        load_date: first.load_date,
        setting: first.setting.code(),
        why: session.warnings.clone(),
        event_id: event.map(|event| event.event_id),
        planned_minutes: event.map(|event| event.minutes),
        attendance: entry.map(|entry| entry.status.code()),
        attended_minutes: entry.and_then(|entry| entry.minutes),
        counted: session.counted.map(CountedAs::from),
        load_au: session
            .counted
            .map(|counted| counted.load)
            .unwrap_or_default()
            .into(),
        reports: session
            .reports
            .iter()
            .map(|report| Reported::new(report, leading))
            .collect::<Result<_, Problem>>()?,
    })
}
