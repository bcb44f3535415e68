//! What is expected of whom, and which reports answer it.
//!
//! A planned session expects each athlete it invites, by squad on its date or by name, and those the
//! attendance list names as present. `plan` reads what was planned around some dates, [`standing`]
//! says what one athlete's reports count as beside it. The same two serve the stored totals and the
//! totals rebuilt for a past state of knowledge.

pub mod plan;
pub mod record;
pub mod standing;

use jiff::civil::Date;

use super::flags;
use super::local_time::LATEST;
use super::sessions::recount::{Standings, recount};
use super::write::Change;
use crate::error::Problem;
use crate::ids::{AthleteId, EventId};
use crate::store::events::{self, Event};
use crate::store::memberships::{self, Membership};
use crate::store::{DaySet, Known, Who, attendance, sessions};

/// After an event changed: who is expected, the days it reaches, and their flags.
pub fn event_changed(
    change: &mut Change<'_>,
    before: Option<&Event>,
    after: Option<&Event>,
) -> Result<(), Problem> {
    let mut touched = DaySet::default();
    for event in before.into_iter().chain(after) {
        touch(change, event, &mut touched)?;
    }
    if let Some(event) = after.or(before) {
        let squads = after.map_or(&[][..], |event| &event.squads);
        events::set_squads(change.conn, change.tenant(), event.event_id, squads)?;
    }
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
}

/// The athletes' days that an event reaches: those invited, those on its attendance list, and those
/// whose reports of its date name it.
fn touch(change: &mut Change<'_>, event: &Event, touched: &mut DaySet) -> Result<(), Problem> {
    let (tenant, date) = (change.tenant(), event.load_date);
    let squads = &event.squads;
    let members = memberships::of_squads(change.conn, tenant, squads, date, date, Known::Now)?;
    let members = members.into_iter().map(|member| member.content.athlete_id);
    let listed = attendance::of_events(
        change.conn,
        tenant,
        Who::WholeClub,
        &[event.event_id],
        Known::Now,
    )?;
    let listed = listed.into_iter().map(|entry| entry.content.athlete_id);
    for athlete in members.chain(listed).chain(event.athletes.iter().copied()) {
        touched.add(athlete, date);
    }
    if let Some(external_id) = &event.external_id {
        for athlete in sessions::naming_event(change.conn, tenant, external_id, date)? {
            touched.add(athlete, date);
        }
    }
    Ok(())
}

/// After a membership changed: the days on which its squad has something planned.
pub fn membership_changed(
    change: &mut Change<'_>,
    before: Option<&Membership>,
    after: Option<&Membership>,
) -> Result<(), Problem> {
    let mut touched = DaySet::default();
    for membership in before.into_iter().chain(after) {
        let (from, to) = (membership.from_date, membership.to_date.unwrap_or(LATEST));
        let (tenant, squad) = (change.tenant(), membership.squad_id);
        for date in events::dates_of_squad(change.conn, tenant, squad, from, to)? {
            touched.add(membership.athlete_id, date);
        }
    }
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
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
