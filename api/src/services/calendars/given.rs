//! The planned sessions that a calendar gives, and what of it is none.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use jiff::Timestamp;
use plimsoll_domain::Minutes;
use serde::Serialize;
use sha2::{Digest, Sha256};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{Planned, Stands};
use crate::calendar::mapping::Mapping;
use crate::calendar::{Instance, Status, Text};
use crate::ids::CalendarId;
use crate::services::signed_heads::hexadecimal;
use crate::store::EventStatus;
use crate::store::events::Event;

/// The source of every event that comes from a calendar.
pub(super) const SOURCE: &str = "calendar";
/// Longest UID that stands in a natural key as it is (RFC 7986, 5.3: at most 255 octets should be used).
const LONGEST_UID: usize = 255;

/// What the instances of a calendar stand for.
#[derive(Debug, Default)]
pub(super) struct Given {
    /// Planned sessions, their ids still nil.
    pub(super) events: Vec<Event>,
    /// The natural keys of what is none.
    pub(super) none: BTreeSet<String>,
    /// What no rule says anything about, or what cannot be a session, by what it says.
    pub(super) unmapped: Vec<UnmappedEvents>,
}

/// Events that are in the calendar and give no planned session, those that say the same together.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "reason": "no_rule", "summary": "Hall closed", "location": "Sports hall", "categories": [],
    "instances": 2, "first_starts_at": "2026-10-13T15:30:00Z", "last_starts_at": "2026-10-20T15:30:00Z"}))]
pub struct UnmappedEvents {
    /// `no_rule` (no rule of the calendar is met), `all_day` (a session needs a time) or `minutes_out_of_range` (a session takes 1 to
    /// 600 minutes).
    #[schema(value_type = String)]
    pub reason: &'static str,
    /// What they are called.
    pub summary: Option<String>,
    /// Where they are.
    pub location: Option<String>,
    /// Their categories.
    pub categories: Vec<String>,
    /// How many there are in the dates that were read.
    pub instances: usize,
    /// When the first one starts.
    #[schema(value_type = String, format = DateTime)]
    pub first_starts_at: Timestamp,
    /// When the last one starts.
    #[schema(value_type = String, format = DateTime)]
    pub last_starts_at: Timestamp,
}

/// Sorts instances, which are in order of start, by what the rules say.
pub(super) fn given(id: CalendarId, instances: &[Instance], mapping: &Mapping<Stands>) -> Given {
    let mut given = Given::default();
    let mut groups: BTreeMap<_, usize> = BTreeMap::new();
    // Instances of one event share their text, and what it stands for.
    let mut of_text: HashMap<*const Text, Option<&Stands>> = HashMap::new();
    for instance in instances {
        let key = natural_key(id, instance);
        let stands = of_text.entry(Arc::as_ptr(&instance.text));
        let reason = match *stands.or_insert_with(|| mapping.of(&instance.text)) {
            Some(Stands::Session(planned)) => match event(id, &key, instance, planned) {
                Ok(event) => {
                    given.events.push(event);
                    continue;
                }
                Err(reason) => reason,
            },
            Some(Stands::NotASession) => {
                given.none.insert(key);
                continue;
            }
            None => "no_rule",
        };
        given.none.insert(key);
        let text = &instance.text;
        let said = (&text.summary, &text.location, &text.categories);
        let at = *groups.entry((reason, said)).or_insert_with(|| {
            given.unmapped.push(UnmappedEvents {
                reason,
                summary: text.summary.clone(),
                location: text.location.clone(),
                categories: text.categories.clone(),
                instances: 0,
                first_starts_at: instance.start.at,
                last_starts_at: instance.start.at,
            });
            given.unmapped.len() - 1
        });
        if let Some(group) = given.unmapped.get_mut(at) {
            group.instances += 1;
            group.last_starts_at = instance.start.at;
        }
    }
    given
}

/// The planned session of an instance, or the reason why it is none.
fn event(
    id: CalendarId,
    natural_key: &str,
    instance: &Instance,
    planned: &Planned,
) -> Result<Event, &'static str> {
    if instance.is_all_day() {
        return Err("all_day");
    }
    let minutes = Minutes::new(instance.minutes.into()).map_err(|_| "minutes_out_of_range")?;
    let start = &instance.start;
    Ok(Event {
        event_id: Uuid::nil().into(),
        source: SOURCE.to_owned(),
        natural_key: natural_key.to_owned(),
        external_id: None,
        setting: planned.setting,
        kind: planned.kind,
        starts_at: start.at,
        utc_offset_seconds: start.zone.to_offset(start.at).seconds(),
        time_zone: start.zone_name().map(str::to_owned),
        load_date: start.date(),
        minutes: minutes.get().into(),
        intended_rpe_half: planned.intended_rpe.map(|rpe| rpe.half_steps().into()),
        is_fixed: planned.fixed,
        status: match instance.status {
            Status::Planned => EventStatus::Planned,
            Status::Moved => EventStatus::Moved,
            Status::Cancelled => EventStatus::Cancelled,
        },
        squads: planned.squads.clone(),
        athletes: Vec::new(),
        calendar_id: Some(id),
        uid: Some(instance.uid.to_string()),
        recurrence_id: instance.recurrence_id.map(|one| one.to_string()),
    })
}

/// What makes it the same event at every reading: `ical:{calendar}:{original start}:{UID}`. A UID that is too long for an index stands
/// as its SHA-256.
fn natural_key(id: CalendarId, instance: &Instance) -> String {
    let original = instance.recurrence_id.map(|one| one.to_string());
    let original = original.as_deref().unwrap_or("-");
    let uid = &*instance.uid;
    if uid.len() <= LONGEST_UID {
        format!("ical:{id}:{original}:{uid}")
    } else {
        let digest = hexadecimal(&Sha256::digest(uid));
        format!("ical:{id}:{original}:sha256:{digest}")
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use jiff::tz::TimeZone;
    use plimsoll_domain::{Kind, Setting};

    use super::*;
    use crate::calendar::mapping::{Condition, MappingRule};
    use crate::calendar::{Bounds, expand};

    const CALENDAR: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//club//EN\r\n\
        BEGIN:VEVENT\r\nUID:practice\r\nDTSTAMP:20260901T000000Z\r\nDTSTART;TZID=Europe/Copenhagen:20261020T173000\r\n\
        DURATION:PT90M\r\nRRULE:FREQ=WEEKLY;COUNT=2\r\nSUMMARY:Practice U16\r\nEND:VEVENT\r\n\
        BEGIN:VEVENT\r\nUID:meeting\r\nDTSTAMP:20260901T000000Z\r\nDTSTART:20261021T170000Z\r\n\
        DURATION:PT1H\r\nSUMMARY:Parents\r\nEND:VEVENT\r\n\
        BEGIN:VEVENT\r\nUID:camp\r\nDTSTAMP:20260901T000000Z\r\nDTSTART;VALUE=DATE:20261022\r\n\
        SUMMARY:Practice camp\r\nEND:VEVENT\r\n\
        BEGIN:VEVENT\r\nUID:long\r\nDTSTAMP:20260901T000000Z\r\nDTSTART:20261023T080000Z\r\n\
        DURATION:PT11H\r\nSUMMARY:Practice day\r\nEND:VEVENT\r\n\
        BEGIN:VEVENT\r\nUID:closed-1\r\nDTSTAMP:20260901T000000Z\r\nDTSTART:20261024T080000Z\r\n\
        DURATION:PT1H\r\nSUMMARY:Hall closed\r\nEND:VEVENT\r\n\
        BEGIN:VEVENT\r\nUID:closed-2\r\nDTSTAMP:20260901T000000Z\r\nDTSTART:20261025T080000Z\r\n\
        DURATION:PT1H\r\nSUMMARY:Hall closed\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

    #[test]
    fn what_no_rule_names_is_listed_and_never_guessed() {
        let planned = Planned {
            setting: Setting::Club,
            kind: Kind::Practice,
            squads: vec![Uuid::max().into()],
            intended_rpe: None,
            fixed: false,
        };
        let rule = |text: &str, gives| MappingRule {
            when: Condition::TextContains(text.to_owned()),
            gives,
        };
        let mapping = Mapping(vec![
            rule("parents", Stands::NotASession),
            rule("practice", Stands::Session(planned)),
        ]);
        let zone = TimeZone::get("Europe/Copenhagen").unwrap();
        let window = (date(2026, 10, 1), date(2026, 11, 30));
        let read = expand(CALENDAR.as_bytes(), window, &zone, &Bounds::default()).unwrap();
        let given = given(Uuid::nil().into(), &read.instances, &mapping);
        let starts = given
            .events
            .iter()
            .map(|event| (event.load_date, event.starts_at.to_string()));
        // The clocks go back on 25 October 2026.
        let expected = [
            (date(2026, 10, 20), "2026-10-20T15:30:00Z".to_owned()),
            (date(2026, 10, 27), "2026-10-27T16:30:00Z".to_owned()),
        ];
        assert!(starts.eq(expected), "{:?}", given.events);
        let unmapped = given
            .unmapped
            .iter()
            .map(|one| (one.reason, one.summary.as_deref(), one.instances));
        let expected = [
            ("all_day", Some("Practice camp"), 1),
            ("minutes_out_of_range", Some("Practice day"), 1),
            ("no_rule", Some("Hall closed"), 2),
        ];
        assert!(unmapped.eq(expected), "{:?}", given.unmapped);
        assert_eq!(given.none.len(), 5);
    }

    #[test]
    fn a_long_uid_does_not_make_a_long_key() {
        let zone = TimeZone::UTC;
        let text = CALENDAR.replace("closed-1", &"x".repeat(300));
        let window = (date(2026, 10, 24), date(2026, 10, 24));
        let read = expand(text.as_bytes(), window, &zone, &Bounds::default()).unwrap();
        let key = natural_key(Uuid::nil().into(), &read.instances[0]);
        assert!(key.len() < 160, "{key}");
        assert_eq!(read.instances[0].uid.len(), 300);
    }
}
