//! Which stored events are those that a calendar now gives, and what follows for each.
//!
//! An instance is found again by its UID and its original start. Where the rule of its event was changed so that it now starts at
//! another time of the same day, it is found by UID and date, so that its id and the reports beside it stay. What is no longer in the
//! calendar is cancelled when it is still to come; what has begun stays, since feeds leave out what is past.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;

use crate::store::events::Event;
use crate::store::{EventStatus, Versioned};

/// What a reading changes.
#[derive(Debug, Default)]
pub(super) struct Changes {
    /// Given by the calendar and not stored.
    pub(super) new: Vec<Event>,
    /// Stored with other content, or taken back before; with what is to be stored.
    pub(super) changed: Vec<(Versioned<Event>, Event)>,
    /// Still to come and no longer in the calendar.
    pub(super) gone: Vec<Versioned<Event>>,
    /// No longer planned sessions by the calendar's rules.
    pub(super) unmapped: Vec<Versioned<Event>>,
    /// How many are as they were.
    pub(super) unchanged: usize,
    /// How many of the stored ones are still to come and not cancelled.
    pub(super) to_come: usize,
}

/// What is in a calendar and gives no event.
#[derive(Debug, Default)]
pub(super) struct NotGiven {
    /// Natural keys of instances that are no planned sessions.
    pub(super) unmapped: BTreeSet<String>,
    /// UIDs of events that cannot be read: what is stored of them stays.
    pub(super) unread: BTreeSet<Arc<str>>,
    /// Whether the calendar's rules were changed: then what has begun is taken back too where they name it no longer.
    pub(super) by_rules: bool,
}

/// Compares stored events, deleted ones among them, with those that a calendar gives.
pub(super) fn compare(
    stored: Vec<Versioned<Event>>,
    given: Vec<Event>,
    not_given: &NotGiven,
    now: Timestamp,
) -> Changes {
    let unmapped = &not_given.unmapped;
    let mut changes = Changes {
        to_come: stored.iter().filter(|one| is_to_come(one, now)).count(),
        ..Changes::default()
    };
    let mut stored = Stored::of(stored);
    let mut left = Vec::new();
    for event in given {
        match stored.take(&event.natural_key) {
            Some(stored) => changes.keep(stored, event),
            None => left.push(event),
        }
    }
    let given_days = only_ones(left.iter());
    // Of what is stored as many days are needed as are given, however much there is.
    let is_given = |event: &&Event| day_of(event).is_some_and(|day| given_days.contains_key(&day));
    let kept = stored.rows().filter(|one| is_kept(one, unmapped));
    let mut stored_days = only_ones(kept.map(|one| &one.content).filter(is_given));
    for event in left {
        let alone = day_of(&event).filter(|day| matches!(given_days.get(day), Some(Some(_))));
        let key = alone.and_then(|day| stored_days.remove(&day).flatten());
        match key.and_then(|key| stored.take(&key)) {
            Some(stored) => changes.keep(stored, event),
            None => changes.new.push(event),
        }
    }
    for (key, stored) in stored.rest() {
        if stored.version.deleted {
            continue;
        }
        let uid = stored.content.uid.as_deref();
        let is_unread = uid.is_some_and(|uid| not_given.unread.contains(uid));
        let may_go = not_given.by_rules || is_to_come(&stored, now);
        if unmapped.contains(&key) && may_go {
            changes.unmapped.push(stored);
        } else if !is_unread && is_to_come(&stored, now) {
            changes.gone.push(stored);
        } else {
            changes.unchanged += 1;
        }
    }
    changes
}

/// Stored events, found by their natural keys. They stay where they are: in the tree they would take up twice the room.
struct Stored {
    rows: Vec<Option<Versioned<Event>>>,
    by_key: BTreeMap<String, usize>,
}

impl Stored {
    fn of(rows: Vec<Versioned<Event>>) -> Self {
        let keys = rows.iter().enumerate();
        let keys = keys.map(|(at, one)| (one.content.natural_key.clone(), at));
        Self {
            by_key: keys.collect(),
            rows: rows.into_iter().map(Some).collect(),
        }
    }

    fn take(&mut self, key: &str) -> Option<Versioned<Event>> {
        let at = self.by_key.remove(key)?;
        self.rows.get_mut(at)?.take()
    }

    /// Those that were not taken.
    fn rows(&self) -> impl Iterator<Item = &Versioned<Event>> {
        self.rows.iter().flatten()
    }

    /// Those that were not taken, in the order of their keys.
    fn rest(mut self) -> impl Iterator<Item = (String, Versioned<Event>)> {
        let keys = std::mem::take(&mut self.by_key).into_iter();
        keys.filter_map(move |(key, at)| Some((key, self.rows.get_mut(at)?.take()?)))
    }
}

impl Changes {
    fn keep(&mut self, stored: Versioned<Event>, given: Event) {
        let given = Event {
            event_id: stored.content.event_id,
            ..given
        };
        if stored.content == given && !stored.version.deleted {
            self.unchanged += 1;
        } else {
            self.changed.push((stored, given));
        }
    }
}

/// Whether an event is still to come.
pub(super) fn is_to_come(stored: &Versioned<Event>, now: Timestamp) -> bool {
    let event = &stored.content;
    !stored.version.deleted && event.starts_at > now && event.status != EventStatus::Cancelled
}

/// An event of a calendar and its date.
type Day = (String, Date);

fn day_of(event: &Event) -> Option<Day> {
    Some((event.uid.clone()?, event.load_date))
}

fn is_kept(stored: &Versioned<Event>, unmapped: &BTreeSet<String>) -> bool {
    !stored.version.deleted && !unmapped.contains(&stored.content.natural_key)
}

/// The natural key of each event by its UID and date; none where there are several of a day.
fn only_ones<'a>(events: impl Iterator<Item = &'a Event>) -> BTreeMap<Day, Option<String>> {
    let mut days = BTreeMap::new();
    for event in events {
        if let Some(day) = day_of(event) {
            let key = event.natural_key.clone();
            days.entry(day)
                .and_modify(|one| *one = None)
                .or_insert(Some(key));
        }
    }
    days
}

#[cfg(test)]
mod tests;
