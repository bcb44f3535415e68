//! Reading a calendar's text: what it gives, compared with what is stored, and the changes made.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::{SignedDuration, Span, Timestamp};

use super::body::{CalendarReading, rules_of, to_document};
use super::given::{Given, SOURCE, given};
use super::matching::{Changes, NotGiven, compare, is_to_come};
use super::rules::mapping;
use crate::calendar::{self, Bounds, Calendar, Code as TextCode, Refused};
use crate::error::{Code, Problem};
use crate::ids::{CalendarId, EventId};
use crate::services::write::Change;
use crate::services::{schedule, warm_ups, zones};
use crate::store::calendars::StoredCalendar;
use crate::store::events::{self, Event};
use crate::store::{self, Conn, EventStatus, Tenant, Versioned};

/// So many days before and after the club's date is read.
pub const REACH_DAYS: i32 = 366;
/// New versions of sessions that are made and stored at a time.
const AT_A_TIME: usize = 1_000;
/// Fewer sessions to come may all be cancelled without being asked again.
const FEW: usize = 10;
/// Most sessions that a calendar holds in the dates read, those that were cancelled or taken back and are given again included: all of
/// them are compared with what a text gives.
pub const MOST_HELD: usize = 30_000;
/// How long until a text is read again, so that new dates come into reach.
pub(super) const TEXT_AGAIN: SignedDuration = SignedDuration::from_hours(24);
/// How long until a feed is fetched again.
pub const FEED_AGAIN: SignedDuration = SignedDuration::from_hours(1);

/// What a reading may take away.
#[derive(Debug, Clone, Copy)]
pub(super) struct Removal {
    /// Most of what is to come, since somebody has confirmed it.
    pub(super) confirmed: bool,
    /// What has begun too, since the rules were changed.
    pub(super) by_rules: bool,
}

/// A text expanded, and what its instances stand for.
pub(super) struct Read {
    pub(super) calendar: Calendar,
    pub(super) given: Given,
    window: (Date, Date),
}

/// Expands the text of a calendar around a date of the club.
pub(super) fn expand(
    conn: &mut Conn,
    tenant: Tenant,
    stored: &StoredCalendar,
    text: &[u8],
    today: Date,
) -> Result<Read, Problem> {
    let zone = match &stored.time_zone {
        Some(name) => zones::named(name)?,
        None => zones::of_club(conn, tenant)?,
    };
    let reach = Span::new().days(REACH_DAYS);
    let window = (today.saturating_sub(reach), today.saturating_add(reach));
    let calendar = calendar::expand(text, window, &zone, &Bounds::default());
    let calendar = calendar.map_err(|refused| refusal(&refused))?;
    if !calendar.cancellations.is_empty() {
        let refused = "METHOD:CANCEL takes single events back; a whole calendar is read here.";
        return Err(Problem::new(Code::UnsupportedCalendar, refused));
    }
    let mapping = mapping(&rules_of(stored)?)?;
    let given = given(stored.calendar_id, &calendar.instances, &mapping);
    Ok(Read {
        calendar,
        given,
        window,
    })
}

/// Reads the calendar's text and makes the schedule say what it says. The calendar itself is changed, and not yet saved.
///
/// # Errors
/// 422 where the text as a whole cannot be read, or would take away most of what is to come without being confirmed.
pub(super) fn read(
    change: &mut Change<'_>,
    stored: &mut StoredCalendar,
    text: &[u8],
    removal: Removal,
) -> Result<(), Problem> {
    let (tenant, now) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, now)?;
    let read = expand(change.conn, tenant, stored, text, today)?;
    let unmapped = read.given.unmapped.iter().map(|group| group.instances);
    let (unmapped, rejected) = (unmapped.sum(), read.calendar.problems.len());
    let known = known(change.conn, tenant, stored, &read)?;
    let held = known.len();
    let problems = read.calendar.problems.iter();
    let not_given = NotGiven {
        unmapped: read.given.none,
        unread: problems.filter_map(|one| one.uid.clone()).collect(),
        by_rules: removal.by_rules,
    };
    let changes = compare(known, read.given.events, &not_given, now);
    refuse_shrinking(&changes, removal, now)?;
    refuse_growing(held, changes.new.len())?;
    let (from, to) = read.window;
    let reading = CalendarReading {
        read_at: now,
        from,
        to,
        created: changes.new.len(),
        changed: changes.changed.len(),
        unchanged: changes.unchanged,
        cancelled: changes.gone.len(),
        taken_back: changes.unmapped.len(),
        unmapped,
        rejected,
    };
    apply(change, changes)?;
    stored.reading = Some(to_document(&reading)?);
    stored.failing_since = None;
    stored.failing_why = None;
    Ok(())
}

/// Cancels what is still to come of a calendar.
pub(super) fn cancel_all(change: &mut Change<'_>, id: CalendarId) -> Result<(), Problem> {
    let (tenant, now) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, now)?;
    // What has begun stays, and a session's date is the club's or one beside it.
    let from = today.saturating_sub(Span::new().days(2));
    let known = events::of_calendar(change.conn, tenant, id, from)?;
    let changes = compare(known, Vec::new(), &NotGiven::default(), now);
    apply(change, changes)
}

/// The stored events that may be those of the text: what the calendar has in the dates read, and what has the same keys.
fn known(
    conn: &mut Conn,
    tenant: Tenant,
    stored: &StoredCalendar,
    read: &Read,
) -> Result<Vec<Versioned<Event>>, Problem> {
    let mut known = events::of_calendar(conn, tenant, stored.calendar_id, read.window.0)?;
    let held = known.iter().map(|one| one.content.natural_key.as_str());
    let held: BTreeSet<&str> = held.collect();
    let given = read
        .given
        .events
        .iter()
        .map(|event| event.natural_key.as_str());
    let others: Vec<&str> = given.filter(|key| !held.contains(key)).collect();
    let mut others = events::by_natural_keys(conn, tenant, SOURCE, &others)?;
    known.append(&mut others);
    Ok(known)
}

fn refuse_shrinking(changes: &Changes, removal: Removal, now: Timestamp) -> Result<(), Problem> {
    let unmapped = changes.unmapped.iter().filter(|one| is_to_come(one, now));
    let (gone, to_come) = (changes.gone.len() + unmapped.count(), changes.to_come);
    if removal.confirmed || to_come < FEW || gone * 2 <= to_come {
        return Ok(());
    }
    let detail = format!("{gone} of {to_come} sessions to come would go.");
    Err(Problem::new(Code::CalendarShrank, detail))
}

fn refuse_growing(held: usize, new: usize) -> Result<(), Problem> {
    let after = held + new;
    if new == 0 || after <= MOST_HELD {
        return Ok(());
    }
    let detail = format!(
        "The calendar would hold {after} sessions in the dates that are read, cancelled ones included; at most {MOST_HELD}. Set up another one."
    );
    Err(Problem::new(Code::CalendarTooLong, detail))
}

/// Stores the changes: new versions in batches, then who is expected, totals and flags once for all.
fn apply(change: &mut Change<'_>, changes: Changes) -> Result<(), Problem> {
    let ids = changes.new.into_iter().map(|event| Event {
        event_id: change.new_id(),
        ..event
    });
    let new: Vec<Event> = ids.collect();
    let mut next: Vec<(Versioned<Event>, Option<Event>)> = Vec::new();
    next.extend(
        changes
            .changed
            .into_iter()
            .map(|(before, after)| (before, Some(after))),
    );
    next.extend(changes.gone.into_iter().map(|before| {
        let cancelled = Event {
            status: EventStatus::Cancelled,
            ..before.content.clone()
        };
        (before, Some(cancelled))
    }));
    next.extend(changes.unmapped.into_iter().map(|before| (before, None)));
    let version = |(before, after): &(Versioned<Event>, Option<Event>)| store::Change {
        replaces: before.version.number,
        content: after.as_ref().unwrap_or(&before.content).clone(),
        deleted: after.is_none(),
    };
    change.store_with(|conn, tenant, moment, author| {
        events::insert(conn, tenant, moment, author, &new)?;
        // Few at a time, since each is a copy.
        next.chunks(AT_A_TIME).try_for_each(|some| {
            let versions: Vec<store::Change<Event>> = some.iter().map(version).collect();
            events::supersede(conn, tenant, moment, author, &versions)
        })
    })?;
    let removed = next.iter().filter(|(_, after)| after.is_none());
    let removed: Vec<EventId> = removed.map(|(before, _)| before.content.event_id).collect();
    warm_ups::remove_with(change, &removed)?;
    let created = new.iter().map(|event| (None, Some(event)));
    let changed = next.iter().map(|(before, after)| {
        let before = (!before.version.deleted).then_some(&before.content);
        (before, after.as_ref())
    });
    let all: Vec<schedule::Changed<'_>> = created.chain(changed).collect();
    schedule::events_changed(change, &all)
}

/// Why a text as a whole is not taken.
fn refusal(refused: &Refused) -> Problem {
    let code = match refused.code {
        TextCode::TextTooLong
        | TextCode::TooManyComponents
        | TextCode::TooManyProperties
        | TextCode::TooManyInstances => Code::CalendarTooLong,
        TextCode::UnsupportedVersion | TextCode::UnsupportedScale | TextCode::UnsupportedMethod => {
            Code::UnsupportedCalendar
        }
        _ => Code::NotACalendar,
    };
    let (why, about) = (refused.code, &refused.detail);
    Problem::new(
        code,
        format!("Nothing of it is taken ({why}): {about}. {}", code.remedy()),
    )
}
