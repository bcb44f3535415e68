//! What is odd about a planned session: its length, its zone, and whom it asks too much of at once.

use std::collections::HashMap;

use super::input::Checked;
use crate::error::{Code, Problem};
use crate::ids::AthleteId;
use crate::services::write::Change;
use crate::store::{EventStatus, ExpectedState, expected};

/// Minutes of one session above which it is warned about.
const LONG_SESSION: i32 = 180;
/// Planned minutes of one athlete's date above which it is warned about.
const LONG_DAY: i32 = 10 * 60;

/// The warnings about an event that was stored and followed through.
pub fn of(change: &mut Change<'_>, checked: &Checked) -> Result<Vec<Code>, Problem> {
    let event = &checked.event;
    let mut found = Vec::new();
    if event.minutes > LONG_SESSION {
        found.push(Code::LongSession);
    }
    if checked.zone_assumed {
        found.push(Code::ZoneAssumed);
    }
    if event.status == EventStatus::Cancelled {
        return Ok(found);
    }
    let tenant = change.tenant();
    let invited = expected::of_event(change.conn, tenant, event.event_id)?;
    let athletes: Vec<AthleteId> = invited.iter().map(|one| one.athlete_id).collect();
    let mut day = expected::on_date(change.conn, tenant, &athletes, event.load_date)?;
    day.retain(|one| one.state != ExpectedState::Cancelled);
    let overlaps = day.iter().any(|one| {
        one.event_id != event.event_id
            && one.starts_at < event.ends_at()
            && event.starts_at < one.ends_at
    });
    if overlaps {
        found.push(Code::OverlapsOtherEvent);
    }
    let mut minutes: HashMap<AthleteId, i32> = HashMap::new();
    for one in &day {
        *minutes.entry(one.athlete_id).or_default() += one.minutes;
    }
    if minutes.values().any(|minutes| *minutes > LONG_DAY) {
        found.push(Code::LongDay);
    }
    Ok(found)
}
