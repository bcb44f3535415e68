use jiff::civil::date;
use plimsoll_domain::{Kind, Setting};
use proptest::prelude::*;
use uuid::Uuid;

use super::*;
use crate::store::Version;

const NOW: &str = "2026-10-20T00:00:00Z";

fn now() -> Timestamp {
    NOW.parse().unwrap()
}

/// An instance of an event that is named by a letter, on a day of October 2026 at an hour.
fn event(uid: char, day: i8, hour: i8) -> Event {
    let starts_at: Timestamp = format!("2026-10-{day:02}T{hour:02}:00:00Z")
        .parse()
        .unwrap();
    Event {
        event_id: Uuid::nil().into(),
        source: "calendar".to_owned(),
        natural_key: format!("ical:{starts_at}:{uid}"),
        external_id: None,
        setting: Setting::Club,
        kind: Kind::Practice,
        starts_at,
        utc_offset_seconds: 0,
        time_zone: None,
        load_date: date(2026, 10, day),
        minutes: 90,
        intended_rpe_half: None,
        is_fixed: false,
        status: EventStatus::Planned,
        squads: Vec::new(),
        athletes: Vec::new(),
        calendar_id: Some(Uuid::nil().into()),
        uid: Some(uid.to_string()),
        recurrence_id: Some(starts_at.to_string()),
    }
}

/// As it is stored, under an id of its own.
fn stored(event: Event, id: u128) -> Versioned<Event> {
    Versioned {
        content: Event {
            event_id: Uuid::from_u128(id).into(),
            ..event
        },
        version: Version {
            number: 1,
            received_at: now(),
            superseded_at: None,
            seq: 1,
            author: "hall".to_owned(),
            acting_role: "integration".to_owned(),
            deleted: false,
        },
    }
}

fn compared(stored: Vec<Versioned<Event>>, given: Vec<Event>) -> Changes {
    compare(stored, given, &NotGiven::default(), now())
}

#[test]
fn an_instance_is_found_again_by_its_original_start() {
    let moved = Event {
        status: EventStatus::Moved,
        load_date: date(2026, 10, 28),
        ..event('a', 27, 17)
    };
    let before = stored(event('a', 27, 17), 1);
    let changes = compared(vec![before.clone()], vec![moved.clone()]);
    let expected = Event {
        event_id: before.content.event_id,
        ..moved
    };
    assert_eq!(changes.changed, [(before, expected)]);
    assert_eq!((changes.new.len(), changes.gone.len()), (0, 0));
}

#[test]
fn an_instance_at_another_time_of_its_day_keeps_its_id() {
    let before = stored(event('a', 27, 17), 1);
    let changes = compared(vec![before.clone()], vec![event('a', 27, 18)]);
    let expected = Event {
        event_id: before.content.event_id,
        ..event('a', 27, 18)
    };
    assert_eq!(changes.changed, [(before, expected)]);
    // Of two on one day it is not known which is which.
    let two = vec![event('a', 27, 18), event('a', 27, 20)];
    let changes = compared(vec![stored(event('a', 27, 17), 1)], two);
    assert_eq!((changes.new.len(), changes.gone.len()), (2, 1));
}

#[test]
fn what_is_gone_is_cancelled_when_it_is_still_to_come() {
    let (past, to_come) = (stored(event('a', 13, 17), 1), stored(event('a', 27, 17), 2));
    let changes = compared(vec![past, to_come.clone()], Vec::new());
    assert_eq!(changes.gone, [to_come]);
    assert_eq!((changes.unchanged, changes.to_come), (1, 1));
}

#[test]
fn what_cannot_be_read_stays_and_what_no_rule_names_is_taken_back() {
    let (unread, unmapped) = (stored(event('a', 27, 17), 1), stored(event('b', 27, 17), 2));
    let not_given = NotGiven {
        unmapped: [unmapped.content.natural_key.clone()].into(),
        unread: ["a".into()].into(),
        by_rules: false,
    };
    let changes = compare(
        vec![unread, unmapped.clone()],
        Vec::new(),
        &not_given,
        now(),
    );
    assert_eq!(changes.unmapped, [unmapped]);
    assert_eq!((changes.unchanged, changes.gone.len()), (1, 0));
}

#[test]
fn what_has_begun_is_taken_back_by_other_rules_alone() {
    let begun = stored(event('a', 13, 17), 1);
    let not_given = |by_rules| NotGiven {
        unmapped: [begun.content.natural_key.clone()].into(),
        by_rules,
        ..NotGiven::default()
    };
    let kept = compare(vec![begun.clone()], Vec::new(), &not_given(false), now());
    assert_eq!((kept.unmapped.len(), kept.unchanged), (0, 1));
    let taken = compare(vec![begun.clone()], Vec::new(), &not_given(true), now());
    assert_eq!(taken.unmapped, std::slice::from_ref(&begun));
}

#[test]
fn what_was_taken_back_is_planned_again_under_its_id() {
    let mut before = stored(event('a', 27, 17), 1);
    before.version.deleted = true;
    let changes = compared(vec![before.clone()], vec![event('a', 27, 17)]);
    assert_eq!(changes.changed, [(before.clone(), before.content)]);
    assert_eq!(changes.to_come, 0);
}

proptest! {
    /// What follows from a reading, read again, changes nothing; and no stored event is lost or doubled.
    #[test]
    fn the_same_calendar_again_changes_nothing(
        before in proptest::collection::btree_set((b'a'..b'd', 18_i8..24, 16_i8..19), 0..12),
        after in proptest::collection::btree_set((b'a'..b'd', 18_i8..24, 16_i8..19), 0..12),
    ) {
        let events = |keys: &BTreeSet<(u8, i8, i8)>| -> Vec<Event> {
            keys.iter().map(|(uid, day, hour)| event(char::from(*uid), *day, *hour)).collect()
        };
        let first: Vec<_> = (1..).zip(events(&before)).map(|(id, one)| stored(one, id)).collect();
        let changes = compared(first.clone(), events(&after));
        let kept = changes.changed.len() + changes.gone.len() + changes.unchanged;
        prop_assert_eq!(kept, first.len());
        let changed = changes.changed.iter().map(|(before, _)| before.content.event_id);
        let gone = changes.gone.iter().map(|before| before.content.event_id);
        let replaced: BTreeSet<_> = changed.chain(gone).collect();
        let mut second: Vec<_> = first;
        second.retain(|one| !replaced.contains(&one.content.event_id));
        second.extend((100..).zip(changes.new).map(|(id, one)| stored(one, id)));
        for (before, after) in changes.changed {
            second.push(Versioned { content: after, ..before });
        }
        for mut before in changes.gone {
            before.content.status = EventStatus::Cancelled;
            second.push(before);
        }
        let again = compared(second, events(&after));
        prop_assert_eq!((again.new.len(), again.changed.len(), again.gone.len()), (0, 0, 0));
    }
}
