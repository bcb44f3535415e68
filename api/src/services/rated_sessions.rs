//! The ratings that athletes gave, beside what their sessions were meant to be.
//!
//! Read from the record itself, so that a past state of knowledge gives what it gave then. A rating counts
//! where its session does: not where a confirmed absence sets it aside.

use std::collections::{BTreeMap, BTreeSet};

use jiff::SignedDuration;
use jiff::civil::Date;
use plimsoll_domain::rating::Compared;
use plimsoll_domain::{GivenBy, Rated, Rpe};

use super::ratings::{age_note, half_steps};
use super::schedule::record::Record;
use super::schedule::standing::SessionStanding;
use super::sessions::answer;
use crate::error::Problem;
use crate::ids::{AthleteId, EventId, SquadId};
use crate::store::events::Event;
use crate::store::memberships::Membership;
use crate::store::sessions::Session;
use crate::store::{Conn, Known, Tenant, Who, athletes, memberships};

/// A session that an athlete rated.
#[derive(Debug, Clone)]
pub struct RatedSession {
    /// Her newest report of it.
    pub report: Session,
    /// The planned session it is, where there is one.
    pub event: Option<Event>,
    /// Her rating.
    pub rated: Rated,
    /// How hard it was meant to be, where that was said and it was not called off.
    pub intended: Option<Rpe>,
}

impl RatedSession {
    /// Her rating beside what was intended.
    pub fn compared(&self) -> Option<Compared> {
        let reported = self.rated.rpe;
        let intended = self.intended;
        intended.map(|intended| Compared { intended, reported })
    }

    /// The session as one athlete rated it; `None` where she did not, or where it does not count.
    fn of(session: &SessionStanding<'_>) -> Result<Option<Self>, Problem> {
        let mut newest_first = session.reports.iter().rev();
        let own = newest_first.find(|report| report.given_by == GivenBy::Athlete);
        let Some(report) = own.filter(|_| session.counted.is_some()) else {
            return Ok(None);
        };
        let planned = session.planned.filter(|planned| !planned.cancelled());
        let intended = planned.and_then(|planned| planned.event.intended_rpe_half);
        Ok(Some(Self {
            rated: Rated {
                kind: report.kind,
                rpe: answer::rpe(report)?,
                date: report.load_date,
                ended_at: report.started_at + SignedDuration::from_mins(report.minutes.into()),
                given_at: report.given_at,
            },
            intended: intended.map(half_steps).transpose()?,
            event: session.planned.map(|planned| planned.event.clone()),
            report: (*report).clone(),
        }))
    }
}

/// What one athlete rated on these dates, by start.
pub fn of_athlete(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    dates: (Date, Date),
    known: Known,
) -> Result<Vec<RatedSession>, Problem> {
    let mut found = of_each(conn, tenant, &[athlete], dates, known)?;
    Ok(found.remove(&athlete).unwrap_or_default())
}

/// What athletes rated on these dates, each by start: a query a table.
fn of_each(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    (from, to): (Date, Date),
    known: Known,
) -> Result<BTreeMap<AthleteId, Vec<RatedSession>>, Problem> {
    let record = Record::read(conn, tenant, athletes, (from, to), known)?;
    let mut found = BTreeMap::new();
    for (athlete, sessions) in record.sessions()? {
        let rated = sessions.iter().map(RatedSession::of);
        let mut rated: Vec<RatedSession> = rated
            .filter_map(Result::transpose)
            .collect::<Result<_, _>>()?;
        rated.retain(|one| (from..=to).contains(&one.rated.date));
        rated.sort_by_key(|one| (one.report.started_at, one.report.session_id));
        found.insert(athlete, rated);
    }
    Ok(found)
}

/// A planned session, with the ratings that the members of a squad gave.
#[derive(Debug, Clone)]
pub struct RatedEvent {
    /// The planned session.
    pub event: Event,
    /// How hard it was meant to be.
    pub intended: Option<Rpe>,
    /// What the members rated, by the order of their ids.
    pub ratings: Vec<Rpe>,
}

/// The planned sessions of some dates as a squad rated them.
#[derive(Debug, Clone)]
pub struct RatedEvents {
    /// Those that a member rated, by start.
    pub events: Vec<RatedEvent>,
    /// What is said where somebody who rated is below about twelve years.
    pub age_note: Option<&'static str>,
}

/// The planned sessions of these dates that members of a squad, on the day, rated: by whomever they were invited.
pub fn of_squad(
    conn: &mut Conn,
    tenant: Tenant,
    squad: SquadId,
    (from, to): (Date, Date),
    known: Known,
) -> Result<RatedEvents, Problem> {
    let members = memberships::of_squads(conn, tenant, &[squad], from, to, known)?;
    let members: Vec<Membership> = members.into_iter().map(|member| member.content).collect();
    let athletes: BTreeSet<AthleteId> = members.iter().map(|member| member.athlete_id).collect();
    let athletes: Vec<AthleteId> = athletes.into_iter().collect();
    let roster = athletes::known(conn, tenant, Who::Athletes(&athletes), known)?;
    let born: BTreeMap<AthleteId, Option<Date>> = roster
        .into_iter()
        .map(|athlete| (athlete.content.athlete_id, athlete.content.birth_date))
        .collect();
    let mut events: BTreeMap<EventId, RatedEvent> = BTreeMap::new();
    let mut note = None;
    for (athlete, rated) in of_each(conn, tenant, &athletes, (from, to), known)? {
        let own = members.iter().filter(|member| member.athlete_id == athlete);
        for one in rated {
            let Some(event) = &one.event else { continue };
            let date = event.load_date;
            let holds = |member: &Membership| {
                member.from_date <= date && member.to_date.is_none_or(|to| date <= to)
            };
            if !own.clone().any(holds) {
                continue;
            }
            let born = born.get(&athlete).copied().flatten();
            note = note.or(age_note(born, one.rated.date));
            let of_event = events.entry(event.event_id).or_insert_with(|| RatedEvent {
                event: event.clone(),
                intended: one.intended,
                ratings: Vec::new(),
            });
            of_event.ratings.push(one.rated.rpe);
        }
    }
    let mut events: Vec<RatedEvent> = events.into_values().collect();
    events.sort_by_key(|one| (one.event.starts_at, one.event.event_id));
    Ok(RatedEvents {
        events,
        age_note: note,
    })
}
