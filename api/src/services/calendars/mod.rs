//! Calendars that planned sessions come from: set up, sent or fetched, read, and made into events.

mod body;
mod given;
mod matching;
mod reading;
mod rules;
pub mod turn;
mod unmapped;

use jiff::{SignedDuration, Timestamp};
use url::Url;

pub use body::{CalendarAnswer, CalendarInput, CalendarReading};
pub use given::UnmappedEvents;
use reading::Removal;
pub use reading::{FEED_AGAIN, MOST_HELD, REACH_DAYS};
pub use rules::{CalendarRule, MOST_RULES, MOST_SQUADS};
pub use unmapped::{RejectedEvent, UnmappedAnswer, unmapped};

use crate::delivery::guard::{self, Reach};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{CalendarId, SquadId};
use crate::services::fields::{self, Faults};
use crate::services::local_time;
use crate::services::write::Change;
use crate::store::calendars::{self, StoredCalendar};
use crate::store::{Conn, Tenant, squads};
use crate::web::json::shorten_text;

/// What became of a fetch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fetched {
    /// The text, and what the feed says of its version and age.
    Text {
        /// The text.
        text: Vec<u8>,
        /// ETag.
        etag: Option<String>,
        /// Last-Modified.
        last_modified: Option<String>,
    },
    /// The text is the one that is stored.
    Same,
    /// There is none; why, as a code.
    Failed(&'static str),
}

/// How long after a failure a feed is tried again.
const FAILED_AGAIN: SignedDuration = SignedDuration::from_mins(15);

/// Most calendars of a club.
pub const MOST_CALENDARS: i64 = 100;

/// Sets up a calendar.
pub fn create(
    change: &mut Change<'_>,
    calendar_id: CalendarId,
    input: &CalendarInput,
    reach: Reach,
) -> Result<CalendarAnswer, Problem> {
    let mut calendar = empty(calendar_id, change.at());
    check(change, input, &calendar, reach)?;
    set(&mut calendar, input, change.now(), false)?;
    insert(change, &calendar)?;
    CalendarAnswer::of(calendar)
}

/// Gives a calendar other settings, and reads its text again by other rules or in another zone; the same settings change nothing, but
/// for `confirmed`, by which a feed whose text was refused as too short is fetched again.
///
/// # Errors
/// 422 where other rules would take away most of what is to come and `confirmed` is false.
pub fn replace(
    change: &mut Change<'_>,
    mut calendar: StoredCalendar,
    input: &CalendarInput,
    (reach, confirmed): (Reach, bool),
) -> Result<CalendarAnswer, Problem> {
    let (tenant, before) = (change.tenant(), CalendarInput::of(&calendar)?);
    if *input == before && !confirmed {
        return CalendarAnswer::of(calendar);
    }
    check(change, input, &calendar, reach)?;
    set(&mut calendar, input, change.now(), confirmed)?;
    let reads_otherwise = (&input.rules, &input.time_zone) != (&before.rules, &before.time_zone);
    if reads_otherwise
        && let Some(text) = calendars::text(change.conn, tenant, calendar.calendar_id)?
    {
        let removal = Removal {
            confirmed,
            by_rules: input.rules != before.rules,
        };
        reading::read(change, &mut calendar, &text, removal)?;
    }
    save(change, calendar)
}

/// Takes a calendar's text, and makes the schedule say what it says; the same text changes nothing. A calendar that is not there is set
/// up without rules.
///
/// # Errors
/// 409 where the text comes from a feed; 422 where it cannot be read, or would take away most of what is to come and `confirmed` is false.
pub fn send(
    change: &mut Change<'_>,
    calendar_id: CalendarId,
    current: Option<StoredCalendar>,
    (text, confirmed): (&[u8], bool),
) -> Result<CalendarAnswer, Problem> {
    let (tenant, created) = (change.tenant(), current.is_none());
    let mut calendar = match current {
        Some(current) if current.feed_url.is_some() => {
            let detail = "This calendar is fetched from its feed.";
            return Err(Problem::new(Code::CalendarHasFeed, detail));
        }
        Some(current) => current,
        None => {
            let calendar = empty(calendar_id, change.at());
            insert(change, &calendar)?;
            calendar
        }
    };
    if is_stored(change, calendar_id, text)? {
        return CalendarAnswer::of(calendar);
    }
    calendar.next_read_at = Some(change.now() + reading::TEXT_AGAIN);
    let removal = Removal {
        confirmed,
        by_rules: false,
    };
    reading::read(change, &mut calendar, text, removal)?;
    calendars::set_text(change.conn, tenant, calendar_id, text.to_vec().into())?;
    if created {
        calendars::save(change.conn, tenant, &calendar)?;
        return CalendarAnswer::of(calendar);
    }
    save(change, calendar)
}

/// Whether this is the text that is stored. Neither is held any longer than it takes to tell.
fn is_stored(change: &mut Change<'_>, id: CalendarId, text: &[u8]) -> Result<bool, Problem> {
    let stored = calendars::text(change.conn, change.tenant(), id)?;
    Ok(stored.as_deref() == Some(text))
}

/// Reads a calendar that is due: by the text that was fetched, or anew by the one that is stored. Says whether it could be; what cannot
/// be read changes nothing but the calendar's own standing.
pub fn read_due(
    change: &mut Change<'_>,
    calendar: StoredCalendar,
    fetched: Fetched,
) -> Result<bool, Problem> {
    let (tenant, now, id) = (change.tenant(), change.now(), calendar.calendar_id);
    let again = again(&calendar);
    let mut next = calendar.clone();
    let (outcome, text) = match fetched {
        Fetched::Failed(why) => (Err(why), None),
        Fetched::Same => match calendars::text(change.conn, tenant, id)? {
            Some(text) => (read_text(change, &mut next, &text)?, None),
            None => (Ok(()), None),
        },
        Fetched::Text {
            text,
            etag,
            last_modified,
        } => {
            next.etag = etag;
            next.last_modified = last_modified;
            (read_text(change, &mut next, &text)?, Some(text))
        }
    };
    let next = match outcome {
        Ok(()) => StoredCalendar {
            next_read_at: Some(now + again),
            failing_since: None,
            failing_why: None,
            removal_confirmed: false,
            ..next
        },
        Err(why) => failed(calendar, why, now),
    };
    calendars::save(change.conn, tenant, &next)?;
    if let Some(text) = text.filter(|_| next.failing_since.is_none()) {
        calendars::set_text(change.conn, tenant, id, text.into())?;
    }
    Ok(next.failing_since.is_none())
}

/// Notes that a calendar that is due could not be worked on, so that it does not keep others waiting.
pub fn put_off(
    change: &mut Change<'_>,
    calendar: StoredCalendar,
    why: Code,
) -> Result<(), Problem> {
    let (tenant, next) = (change.tenant(), failed(calendar, why.code(), change.now()));
    Ok(calendars::save(change.conn, tenant, &next)?)
}

/// A calendar that could not be read: what it says stays, and it is tried again later.
fn failed(calendar: StoredCalendar, why: &str, now: Timestamp) -> StoredCalendar {
    let again = match calendar.feed_url {
        Some(_) => FAILED_AGAIN,
        None => reading::TEXT_AGAIN,
    };
    StoredCalendar {
        next_read_at: Some(now + again),
        failing_since: calendar.failing_since.or(Some(now)),
        failing_why: Some(why.to_owned()),
        ..calendar
    }
}

/// How long until a calendar that was read is read again.
fn again(calendar: &StoredCalendar) -> SignedDuration {
    match calendar.feed_url {
        Some(_) => reading::FEED_AGAIN,
        None => reading::TEXT_AGAIN,
    }
}

/// Reads a text that is due; or why it cannot be, as a code, and then nothing is changed.
fn read_text(
    change: &mut Change<'_>,
    calendar: &mut StoredCalendar,
    text: &[u8],
) -> Result<Result<(), &'static str>, Problem> {
    let removal = Removal {
        confirmed: calendar.removal_confirmed,
        by_rules: false,
    };
    match reading::read(change, calendar, text, removal) {
        Ok(()) => Ok(Ok(())),
        // These are found before anything is changed.
        Err(Problem {
            code:
                code @ (Code::NotACalendar
                | Code::CalendarTooLong
                | Code::UnsupportedCalendar
                | Code::CalendarShrank),
            ..
        }) => Ok(Err(code.code())),
        Err(problem) => Err(problem),
    }
}

/// Takes a calendar away: what is still to come of it is cancelled.
pub fn remove(change: &mut Change<'_>, calendar: &StoredCalendar) -> Result<(), Problem> {
    reading::cancel_all(change, calendar.calendar_id)?;
    let tenant = change.tenant();
    Ok(calendars::delete(
        change.conn,
        tenant,
        calendar.calendar_id,
    )?)
}

/// The calendar of an id.
pub fn find(conn: &mut Conn, tenant: Tenant, id: CalendarId) -> Result<StoredCalendar, Problem> {
    calendars::find(conn, tenant, id)?.ok_or_else(Problem::not_found)
}

fn empty(calendar_id: CalendarId, at: Timestamp) -> StoredCalendar {
    StoredCalendar {
        calendar_id,
        name: "Calendar".to_owned(),
        time_zone: None,
        rules: serde_json::Value::Array(Vec::new()),
        etag: None,
        last_modified: None,
        reading: None,
        next_read_at: None,
        failing_since: None,
        failing_why: None,
        removal_confirmed: false,
        version: 1,
        created_at: at,
        updated_at: at,
        feed_url: None,
    }
}

fn insert(change: &mut Change<'_>, calendar: &StoredCalendar) -> Result<(), Problem> {
    let tenant = change.tenant();
    let there = calendars::count(change.conn, tenant)?;
    if there >= MOST_CALENDARS {
        let many = FieldProblem::new("", Code::OutOfRange, there + 1);
        return Err(Problem::field(
            many.allowed(format!("at most {MOST_CALENDARS} calendars")),
        ));
    }
    Ok(calendars::insert(change.conn, tenant, calendar)?)
}

/// Stores a calendar that somebody changed.
fn save(change: &mut Change<'_>, mut calendar: StoredCalendar) -> Result<CalendarAnswer, Problem> {
    calendar.version += 1;
    calendar.updated_at = change.at();
    let tenant = change.tenant();
    calendars::save(change.conn, tenant, &calendar)?;
    CalendarAnswer::of(calendar)
}

/// Sets what was checked. Another feed is fetched at once, and so is one whose short text is confirmed.
fn set(
    calendar: &mut StoredCalendar,
    input: &CalendarInput,
    now: Timestamp,
    confirmed: bool,
) -> Result<(), Problem> {
    let feed = calendar.feed_url.as_deref();
    if input.feed_url.as_deref() != feed {
        calendar.feed_url = input.feed_url.clone().map(Into::into);
        calendar.etag = None;
        calendar.last_modified = None;
        calendar.failing_since = None;
        calendar.failing_why = None;
        calendar.next_read_at = Some(match input.feed_url {
            Some(_) => now,
            None => now + reading::TEXT_AGAIN,
        });
    }
    calendar.removal_confirmed = confirmed && input.feed_url.is_some();
    if calendar.removal_confirmed {
        calendar.next_read_at = Some(now);
    }
    calendar.name = input.name.clone().unwrap_or_default();
    calendar.time_zone = input.time_zone.clone();
    calendar.rules = body::to_document(&input.rules)?;
    Ok(())
}

fn check(
    change: &mut Change<'_>,
    input: &CalendarInput,
    current: &StoredCalendar,
    reach: Reach,
) -> Result<(), Problem> {
    let mut faults = Faults::default();
    let known = squads::all(change.conn, change.caller.tenant)?;
    let known: Vec<SquadId> = known.into_iter().map(|squad| squad.squad_id).collect();
    let name = faults.take(fields::line("/name", input.name.as_deref()));
    if let Some(zone) = &input.time_zone {
        let _ = faults.take(local_time::zone("/time_zone", zone));
    }
    let same = input.feed_url.as_deref() == current.feed_url.as_deref();
    if let Some(url) = input.feed_url.as_deref().filter(|_| !same) {
        let _ = faults.take(feed(url, reach));
    }
    rules::check(&input.rules, &known, &mut faults);
    faults.settle(name).map(drop)
}

/// A URL that may be called. Only its host is given back: the rest often is its own password.
fn feed(url: &str, reach: Reach) -> Result<(), FieldProblem> {
    let Err(reason) = guard::url(url, reach) else {
        return Ok(());
    };
    let host = Url::parse(url)
        .ok()
        .and_then(|url| url.host_str().map(str::to_owned));
    let given = shorten_text(&host.unwrap_or_default());
    let refused = FieldProblem::new("/feed_url", Code::AddressNotAllowed, given);
    Err(refused
        .detail(format!("This URL may not be called: {reason}."))
        .allowed("https, port 443 or 8443, a host of the public network"))
}
