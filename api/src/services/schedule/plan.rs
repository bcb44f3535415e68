//! What was planned around some dates, and for whom.

use std::collections::{BTreeMap, HashMap};

use jiff::civil::Date;

use super::AtEvent;
use crate::error::Problem;
use crate::ids::{AthleteId, EventId};
use crate::store::attendance::{self, Attendance};
use crate::store::events::{self, Event};
use crate::store::memberships::{self, Membership};
use crate::store::sessions::Session;
use crate::store::{AttendanceStatus, Conn, DaySet, EventStatus, Known, Tenant, Who};

/// The events of some dates, with the memberships and attendance of some athletes.
#[derive(Debug, Default)]
pub struct Plan {
    events: BTreeMap<Date, Vec<Event>>,
    /// The days it was read for; `None` for all dates of all athletes.
    only: Option<DaySet>,
    members: HashMap<AthleteId, Vec<Membership>>,
    attendance: HashMap<AtEvent, Attendance>,
}

/// One athlete's planned session.
#[derive(Debug, Clone, Copy)]
pub struct Planned<'a> {
    /// The event.
    pub event: &'a Event,
    /// Whether she is invited, or was there.
    pub expected: bool,
    /// What the list says of her.
    pub attendance: Option<&'a Attendance>,
}

impl Plan {
    /// Reads the plan of `from..=to` in a state of knowledge: one query a table.
    pub fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        dates: (Date, Date),
        known: Known,
    ) -> Result<Self, Problem> {
        let mut plan = Self::default();
        plan.add(conn, tenant, athletes, dates, known)?;
        plan.add_members(conn, tenant, athletes, known)?;
        Ok(plan)
    }

    /// Reads the plan of exactly these days as known now: a query a table and block of days.
    pub fn on_days(conn: &mut Conn, tenant: Tenant, days: DaySet) -> Result<Self, Problem> {
        let mut plan = Self::default();
        for block in days.blocks() {
            let dates = (block.from, block.to);
            plan.add(conn, tenant, &block.athletes, dates, Known::Now)?;
        }
        plan.add_members(conn, tenant, &days.athletes(), Known::Now)?;
        plan.only = Some(days);
        Ok(plan)
    }

    /// Adds the events of a range of dates with the attendance of some athletes.
    fn add(
        &mut self,
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        (from, to): (Date, Date),
        known: Known,
    ) -> Result<(), Problem> {
        let events = events::in_dates(conn, tenant, from, to, known)?;
        let ids: Vec<EventId> = events.iter().map(|event| event.content.event_id).collect();
        for event in events {
            let of_date = self.events.entry(event.content.load_date).or_default();
            of_date.push(event.content);
        }
        let listed = attendance::of_events(conn, tenant, Who::Athletes(athletes), &ids, known)?;
        let listed = listed.into_iter().map(|entry| {
            let entry = entry.content;
            ((entry.athlete_id, entry.event_id), entry)
        });
        self.attendance.extend(listed);
        Ok(())
    }

    /// Adds the memberships of some athletes, where there is something to be invited to.
    fn add_members(
        &mut self,
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        known: Known,
    ) -> Result<(), Problem> {
        if self.events.is_empty() {
            return Ok(());
        }
        for (membership, _) in memberships::of_athletes(conn, tenant, athletes, known)? {
            let membership = membership.content;
            let of_athlete = self.members.entry(membership.athlete_id).or_default();
            of_athlete.push(membership);
        }
        Ok(())
    }

    /// The events of the dates read for one athlete, by date and start.
    fn events_for(&self, athlete: AthleteId) -> impl Iterator<Item = &Event> {
        let read = move |date: &Date| match &self.only {
            Some(days) => days.contains(athlete, *date),
            None => true,
        };
        let of_dates = self.events.iter().filter(move |(date, _)| read(date));
        of_dates.flat_map(|(_, events)| events)
    }

    /// What was planned for one athlete: what she is invited to, what the attendance list names her
    /// at, and what her reports name.
    pub fn of<'a>(&'a self, athlete: AthleteId, reports: &[&Session]) -> Vec<Planned<'a>> {
        let memberships = self.members.get(&athlete).map_or(&[][..], Vec::as_slice);
        let planned = self.events_for(athlete).filter_map(|event| {
            let attendance = self.attendance.get(&(athlete, event.event_id));
            let by_squad = memberships
                .iter()
                .any(|membership| invites(event, membership));
            let invited = by_squad || event.athletes.binary_search(&athlete).is_ok();
            let named = || reports.iter().any(|report| names(report, event));
            let planned = Planned {
                event,
                expected: invited || attendance.is_some_and(was_there),
                attendance,
            };
            (invited || attendance.is_some() || named()).then_some(planned)
        });
        planned.collect()
    }
}

impl Planned<'_> {
    /// Whether it was called off.
    pub fn cancelled(&self) -> bool {
        self.event.status == EventStatus::Cancelled
    }
}

/// Whether an event invites the holder of a membership: her squad is among its squads, and the
/// membership holds on its date.
pub fn invites(event: &Event, membership: &Membership) -> bool {
    event.squads.contains(&membership.squad_id)
        && membership.from_date <= event.load_date
        && membership.to_date.is_none_or(|to| event.load_date <= to)
}

/// The planned session of its date that a report names: by the external id within its own source,
/// else within any source of the club.
pub fn named(report: &Session, planned: &[Planned<'_>]) -> Option<usize> {
    let same_source =
        |one: &Planned<'_>| names(report, one.event) && one.event.source == report.source;
    planned
        .iter()
        .position(same_source)
        .or_else(|| planned.iter().position(|one| names(report, one.event)))
}

/// Whether a report names an event of its own load date. One that moved to another date leaves the
/// reports of its former date behind: they count by themselves, and a person is asked.
fn names(report: &Session, event: &Event) -> bool {
    report.event_external_id.is_some()
        && report.event_external_id == event.external_id
        && report.load_date == event.load_date
}

fn was_there(entry: &Attendance) -> bool {
    matches!(
        entry.status,
        AttendanceStatus::Present | AttendanceStatus::Partial
    )
}
