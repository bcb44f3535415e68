//! A planned session as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::{Code, Problem};
use crate::ids::{AthleteId, CalendarId, EventId, SquadId};
use crate::services::reach::Reached;
use crate::store::Versioned;
use crate::store::events::Event;

/// A planned session.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "version": 1, "source": "scheduling",
    "external_id": "hall-3301", "setting": "club", "kind": "practice",
    "starts_at": "2026-09-07T17:30:00+02:00", "time_zone": "Europe/Copenhagen", "minutes": 90,
    "load_date": "2026-09-07", "intended_rpe": 6.0,
    "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "athletes": [], "status": "planned",
    "fixed": false, "calendar_id": null, "uid": null, "recurrence_id": null, "received_at": "2026-08-20T09:12:00Z", "warnings": []}))]
pub struct EventAnswer {
    /// Its id.
    pub event_id: EventId,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// The client that sent it.
    pub source: String,
    /// The sender's own id.
    pub external_id: Option<String>,
    /// Who runs it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What is done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub starts_at: String,
    /// Zone of the place, where it was named.
    pub time_zone: Option<String>,
    /// Planned minutes.
    pub minutes: i32,
    /// The date at the place.
    #[schema(value_type = String, format = Date)]
    pub load_date: Date,
    /// How hard it is meant to be.
    pub intended_rpe: Option<f64>,
    /// Squads invited.
    pub squads: Vec<SquadId>,
    /// Athletes invited by name, as far as they are within the caller's reach.
    pub athletes: Vec<AthleteId>,
    /// planned, moved, cancelled or held.
    #[schema(value_type = String)]
    pub status: &'static str,
    /// Whether it can be neither moved nor shortened.
    pub fixed: bool,
    /// The calendar that it comes from, and is changed in; null for one that was sent by itself.
    pub calendar_id: Option<CalendarId>,
    /// Its UID in the calendar.
    pub uid: Option<String>,
    /// Which instance of that UID it is, where the event recurs: the original start, in UTC.
    pub recurrence_id: Option<String>,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// What is odd about it, said when it is written; see /problems for each code.
    #[schema(value_type = Vec<String>)]
    pub warnings: Vec<Code>,
}

impl EventAnswer {
    /// The answer for a stored version, to a caller of this reach.
    pub fn new(stored: Versioned<Event>, reached: &Reached) -> Result<Self, Problem> {
        let Versioned { content, version } = stored;
        let starts_at = starts_at(&content)?;
        let mut athletes = content.athletes;
        athletes.retain(|athlete| reached.includes(*athlete));
        Ok(Self {
            event_id: content.event_id,
            version: version.number,
            source: content.source,
            external_id: content.external_id,
            setting: content.setting.code(),
            kind: content.kind.code(),
            starts_at,
            time_zone: content.time_zone,
            minutes: content.minutes,
            load_date: content.load_date,
            intended_rpe: content.intended_rpe_half.map(|half| f64::from(half) / 2.0),
            squads: content.squads,
            athletes,
            status: content.status.code(),
            fixed: content.is_fixed,
            calendar_id: content.calendar_id,
            uid: content.uid,
            recurrence_id: content.recurrence_id,
            received_at: version.received_at,
            warnings: Vec::new(),
        })
    }
}

/// The start as written at the place.
pub fn starts_at(event: &Event) -> Result<String, Problem> {
    let offset = Offset::from_seconds(event.utc_offset_seconds)
        .map_err(|error| Problem::internal(&error))?;
    Ok(event.starts_at.display_with_offset(offset).to_string())
}
