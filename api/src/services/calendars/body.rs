//! A calendar as it is sent and as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use url::Url;
use utoipa::ToSchema;

use super::rules::CalendarRule;
use crate::error::Problem;
use crate::ids::CalendarId;
use crate::store::calendars::StoredCalendar;

/// A calendar that planned sessions come from: its name, what its events stand for, and where it is fetched.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "name": "Sports hall", "feed_url": "https://hall.example.org/nordvang.ics",
    "rules": [
        {"text_contains": "U16 practice", "setting": "club", "kind": "practice",
         "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "intended_rpe": 6},
        {"category_is": "Match", "setting": "club", "kind": "game",
         "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "fixed": true},
        {"text_contains": "meeting", "not_a_session": true}]}))]
pub struct CalendarInput {
    /// What the club calls it, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// The IANA zone of times that come without one; the club's where it is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_zone: Option<String>,
    /// Where its text is fetched, once an hour: https, port 443 or 8443. It is kept sealed and never answered, for it
    /// often is its own password. Left out where the text is sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(max_length = 2048)]
    pub feed_url: Option<String>,
    /// What its events stand for, at most 200 rules: the first that is met counts. Events that meet none are listed, not guessed.
    #[serde(default)]
    pub rules: Vec<CalendarRule>,
}

/// A calendar.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "calendar_id": "0199a1b2-aaaa-7e4f-8a5b-6c7d8e9f0a1b", "version": 2, "name": "Sports hall", "time_zone": null,
    "feed_host": null, "rules": [
        {"text_contains": "U16 practice", "setting": "club", "kind": "practice",
         "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"], "intended_rpe": 6}],
    "reading": {"read_at": "2026-10-01T08:00:00Z", "from": "2025-09-30", "to": "2027-10-02", "created": 52, "changed": 0,
        "unchanged": 0, "cancelled": 0, "taken_back": 0, "unmapped": 3, "rejected": 0},
    "next_reading_at": "2026-10-02T08:00:00Z", "failing_since": null, "failing_why": null}))]
pub struct CalendarAnswer {
    /// Its id.
    pub calendar_id: CalendarId,
    /// 1, 2, 3, …; also the ETag. It grows with what somebody sets or sends, not with a reading.
    pub version: i32,
    /// What the club calls it.
    pub name: String,
    /// The zone of times that come without one; null for the club's.
    pub time_zone: Option<String>,
    /// The host that its text is fetched from; null where the text is sent.
    pub feed_host: Option<String>,
    /// What its events stand for.
    pub rules: Vec<CalendarRule>,
    /// What the last reading came to; null before there was one.
    pub reading: Option<CalendarReading>,
    /// When it is read again: once an hour from a feed, once a day otherwise, for new dates come into reach.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub next_reading_at: Option<Timestamp>,
    /// Since when it cannot be read; what was read before stays.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub failing_since: Option<Timestamp>,
    /// Why: `unreachable`, `timed_out`, `blocked`, `refused` (another status than 200 and 304), `too_long`, or a problem code.
    pub failing_why: Option<String>,
}

/// What a reading came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CalendarReading {
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub read_at: Timestamp,
    /// The first date read, a year back.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// The last date read, a year ahead.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// Planned sessions that are new.
    pub created: usize,
    /// Those that were changed, moved or planned again.
    pub changed: usize,
    /// Those that stayed as they were.
    pub unchanged: usize,
    /// Those that are no longer in the calendar and were still to come: cancelled, with their reports kept.
    pub cancelled: usize,
    /// Those that by the rules are none any more.
    pub taken_back: usize,
    /// Instances that no rule says anything about, or that cannot be sessions; `unmapped` of the calendar lists them.
    pub unmapped: usize,
    /// Events of the text that cannot be read.
    pub rejected: usize,
}

impl CalendarInput {
    /// The stored calendar in the form it could be sent in, for a merge patch.
    pub fn of(stored: &StoredCalendar) -> Result<Self, Problem> {
        Ok(Self {
            name: Some(stored.name.clone()),
            time_zone: stored.time_zone.clone(),
            feed_url: stored.feed_url.as_ref().map(|url| url.to_string()),
            rules: rules_of(stored)?,
        })
    }
}

impl CalendarAnswer {
    /// The answer for a stored calendar.
    pub fn of(stored: StoredCalendar) -> Result<Self, Problem> {
        let feed = stored
            .feed_url
            .as_ref()
            .and_then(|url| Url::parse(url).ok());
        Ok(Self {
            calendar_id: stored.calendar_id,
            version: stored.version,
            rules: rules_of(&stored)?,
            reading: stored.reading.map(from_document).transpose()?,
            name: stored.name,
            time_zone: stored.time_zone,
            feed_host: feed.and_then(|url| url.host_str().map(str::to_owned)),
            next_reading_at: stored.next_read_at,
            failing_since: stored.failing_since,
            failing_why: stored.failing_why,
        })
    }
}

/// The rules of a stored calendar.
pub(super) fn rules_of(stored: &StoredCalendar) -> Result<Vec<CalendarRule>, Problem> {
    from_document(stored.rules.clone())
}

/// What was stored was written by this program; another form is a defect.
fn from_document<T: serde::de::DeserializeOwned>(document: Value) -> Result<T, Problem> {
    serde_json::from_value(document).map_err(|error| Problem::internal(&error))
}

/// The document to be stored.
pub(super) fn to_document<T: Serialize>(value: &T) -> Result<Value, Problem> {
    serde_json::to_value(value).map_err(|error| Problem::internal(&error))
}
