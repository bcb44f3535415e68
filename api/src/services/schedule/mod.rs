//! What is expected of whom, and which reports answer it.
//!
//! A planned session expects each athlete it invites, by squad on its date or by name, and those the
//! attendance list names as present. `plan` reads what was planned around some dates, [`standing`]
//! says what one athlete's reports count as beside it. The same two serve the stored totals and the
//! totals rebuilt for a past state of knowledge.

pub mod plan;
pub mod record;
pub mod standing;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::flags;
use super::local_time::LATEST;
use super::sessions::recount::{Standings, recount};
use super::write::Change;
use crate::error::Problem;
use crate::ids::{AthleteId, EventId, SquadId};
use crate::store::events::{self, Event};
use crate::store::memberships::{self, Membership};
use crate::store::{DaySet, Known, Who, attendance, sessions};

/// An event as it was and as it now is; none where it is not there.
pub type Changed<'a> = (Option<&'a Event>, Option<&'a Event>);

/// After an event changed: who is expected, the days it reaches, and their flags.
pub fn event_changed(
    change: &mut Change<'_>,
    before: Option<&Event>,
    after: Option<&Event>,
) -> Result<(), Problem> {
    events_changed(change, &[(before, after)])
}

/// As [`event_changed`], for many at once: so many queries, however many events.
pub fn events_changed(change: &mut Change<'_>, changes: &[Changed<'_>]) -> Result<(), Problem> {
    let touched = touched_by(change, changes)?;
    let squads = changes.iter().filter_map(|(before, after)| {
        let event = after.or(*before)?;
        let squads: &[SquadId] = after.map_or(&[], |event| &event.squads);
        Some((event.event_id, squads))
    });
    let squads: Vec<_> = squads.collect();
    events::set_squads(change.conn, change.tenant(), &squads)?;
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
}

/// The athletes' days that events reach: those invited, those on an attendance list, and those whose
/// reports of an event's date name it.
fn touched_by(change: &mut Change<'_>, changes: &[Changed<'_>]) -> Result<DaySet, Problem> {
    let states = changes
        .iter()
        .flat_map(|(before, after)| before.iter().chain(after));
    let states: Vec<&Event> = states.copied().collect();
    let dates = || states.iter().map(|event| event.load_date);
    let (Some(from), Some(to)) = (dates().min(), dates().max()) else {
        return Ok(DaySet::default());
    };
    let (conn, tenant) = (&mut *change.conn, change.caller.tenant);
    let invited = states.iter().flat_map(|event| {
        let athletes = event.athletes.iter();
        athletes.map(|athlete| (*athlete, event.load_date))
    });
    let mut touched: DaySet = invited.collect();
    let dates_of_squad = dates_by(&states, |event| event.squads.clone());
    let squads: Vec<SquadId> = dates_of_squad.keys().copied().collect();
    for member in memberships::of_squads(conn, tenant, &squads, from, to, Known::Now)? {
        let member = member.content;
        let holds = member.from_date..=member.to_date.unwrap_or(LATEST);
        let dates = dates_of_squad.get(&member.squad_id).into_iter().flatten();
        for date in dates.filter(|date| holds.contains(date)) {
            touched.add(member.athlete_id, *date);
        }
    }
    let dates_of_event = dates_by(&states, |event| Some(event.event_id));
    let ids: Vec<EventId> = dates_of_event.keys().copied().collect();
    for entry in attendance::of_events(conn, tenant, Who::WholeClub, &ids, Known::Now)? {
        let entry = entry.content;
        for date in dates_of_event.get(&entry.event_id).into_iter().flatten() {
            touched.add(entry.athlete_id, *date);
        }
    }
    let dates_of_name = dates_by(&states, |event| event.external_id.clone());
    let names: Vec<&str> = dates_of_name.keys().map(String::as_str).collect();
    for (athlete, name, date) in sessions::naming_events(conn, tenant, &names, from, to)? {
        if dates_of_name
            .get(&name)
            .is_some_and(|dates| dates.contains(&date))
        {
            touched.add(athlete, date);
        }
    }
    Ok(touched)
}

/// The dates of events by something of theirs.
fn dates_by<K: Ord, I: IntoIterator<Item = K>>(
    events: &[&Event],
    key: impl Fn(&Event) -> I,
) -> BTreeMap<K, BTreeSet<Date>> {
    let mut dates: BTreeMap<K, BTreeSet<Date>> = BTreeMap::new();
    for event in events {
        for key in key(event) {
            dates.entry(key).or_default().insert(event.load_date);
        }
    }
    dates
}

/// After a membership changed: the days on which its squad has something planned.
pub fn membership_changed(
    change: &mut Change<'_>,
    before: Option<&Membership>,
    after: Option<&Membership>,
) -> Result<(), Problem> {
    let touched = days_of_memberships(change, &[(before, after)])?;
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
}

/// The days that changed memberships reach, each given as it was and as it is: where a squad has something planned on a day on
/// which its member has become one, or is one no longer. One query for any number of memberships.
pub fn days_of_memberships(
    change: &mut Change<'_>,
    changed: &[(Option<&Membership>, Option<&Membership>)],
) -> Result<DaySet, Problem> {
    let mut touched = DaySet::default();
    let sides = || {
        changed
            .iter()
            .flat_map(|(before, after)| before.iter().chain(after))
    };
    let from = sides().map(|side| side.from_date).min();
    let to = sides().map(|side| side.to_date.unwrap_or(LATEST)).max();
    let (Some(from), Some(to)) = (from, to) else {
        return Ok(touched);
    };
    let squads: Vec<SquadId> = sides().map(|side| side.squad_id).collect();
    let tenant = change.tenant();
    let planned = events::dates_of_squads(change.conn, tenant, &squads, from, to)?;
    let mut dates: BTreeMap<SquadId, Vec<Date>> = BTreeMap::new();
    for (squad, date) in planned {
        dates.entry(squad).or_default().push(date);
    }
    for (before, after) in changed {
        for side in before.iter().chain(after) {
            let of_squad = dates.get(&side.squad_id).into_iter().flatten();
            let moved = of_squad.filter(|date| holds(*before, **date) != holds(*after, **date));
            moved.for_each(|date| touched.add(side.athlete_id, *date));
        }
    }
    Ok(touched)
}

/// Whether there is such a membership and it holds on a date.
fn holds(membership: Option<&Membership>, date: Date) -> bool {
    membership.is_some_and(|one| one.from_date <= date && one.to_date.is_none_or(|to| date <= to))
}

/// After the attendance list changed for one athlete on a date: how her reports now stand.
pub fn attendance_changed(
    change: &mut Change<'_>,
    athlete: AthleteId,
    date: Date,
) -> Result<Standings, Problem> {
    let mut touched = DaySet::default();
    touched.add(athlete, date);
    let standings = recount(change, &touched)?;
    flags::rejudge(change, &touched)?;
    Ok(standings)
}

/// Whether an event invites an athlete, as known now.
pub fn is_expected(
    change: &mut Change<'_>,
    event: &Event,
    athlete: AthleteId,
) -> Result<bool, Problem> {
    let tenant = change.tenant();
    let memberships = memberships::of_athletes(change.conn, tenant, &[athlete], Known::Now)?;
    let invited = memberships
        .iter()
        .any(|(membership, _)| plan::invites(event, &membership.content));
    Ok(invited || event.athletes.binary_search(&athlete).is_ok())
}

/// One athlete at one event.
pub type AtEvent = (AthleteId, EventId);
