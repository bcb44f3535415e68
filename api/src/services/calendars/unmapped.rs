//! What of a calendar gives no planned session: what no rule names, what cannot be one, and what cannot be read.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use super::given::UnmappedEvents;
use super::{find, reading};
use crate::calendar::RowProblem;
use crate::error::Problem;
use crate::ids::CalendarId;
use crate::services::zones;
use crate::store::{Conn, Tenant, calendars};

/// Longest of each list: more is counted, and not listed.
const MOST: usize = 500;

/// What of a calendar gives no planned session. Each list holds at most 500; the numbers count all.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "calendar_id": "0199a1b2-aaaa-7e4f-8a5b-6c7d8e9f0a1b", "unmapped_texts": 1, "rejected_events": 1,
    "unmapped": [{"reason": "no_rule", "summary": "Hall closed", "location": null, "categories": [], "instances": 2,
        "first_starts_at": "2026-10-13T15:30:00Z", "last_starts_at": "2026-10-20T15:30:00Z"}],
    "rejected": [{"component": 7, "line": 81, "uid": "x-7@hall.example.org", "code": "negative_duration",
        "detail": "20261013T190000"}]}))]
pub struct UnmappedAnswer {
    /// The calendar.
    pub calendar_id: CalendarId,
    /// How many different texts no rule names, or that cannot be sessions.
    pub unmapped_texts: usize,
    /// How many events of the text cannot be read.
    pub rejected_events: usize,
    /// What no rule names, or what cannot be a session, in order of its first start.
    pub unmapped: Vec<UnmappedEvents>,
    /// What cannot be read, in the order of the text.
    pub rejected: Vec<RejectedEvent>,
}

/// An event of a calendar's text that cannot be read, while the others are.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RejectedEvent {
    /// Which VEVENT of the text, from 1.
    pub component: usize,
    /// The line on which it begins, from 1.
    pub line: usize,
    /// Its UID, where it has one.
    pub uid: Option<String>,
    /// Why: malformed_line, repeated_property, missing_uid, missing_start, invalid_date, invalid_duration, invalid_sequence,
    /// value_type_differs, unknown_time_zone, end_and_duration, negative_duration, zero_duration, duration_too_long, unsupported_rule,
    /// until_before_start, recurrence_too_long, recurrence_unbounded, unsupported_range, rule_in_override, duplicate_uid.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// What it is about.
    pub detail: String,
}

impl From<RowProblem> for RejectedEvent {
    fn from(problem: RowProblem) -> Self {
        Self {
            component: problem.component,
            line: problem.line,
            uid: problem.uid.as_deref().map(str::to_owned),
            code: problem.code.code(),
            detail: problem.detail,
        }
    }
}

/// Reads the stored text again by the rules of now; nothing is changed.
pub fn unmapped(
    conn: &mut Conn,
    tenant: Tenant,
    id: CalendarId,
    now: Timestamp,
) -> Result<UnmappedAnswer, Problem> {
    let stored = find(conn, tenant, id)?;
    let mut answer = UnmappedAnswer {
        calendar_id: id,
        unmapped_texts: 0,
        rejected_events: 0,
        unmapped: Vec::new(),
        rejected: Vec::new(),
    };
    let Some(text) = calendars::text(conn, tenant, id)? else {
        return Ok(answer);
    };
    let today = zones::club_date(conn, tenant, now)?;
    let read = reading::expand(conn, tenant, &stored, &text, today)?;
    answer.unmapped_texts = read.given.unmapped.len();
    answer.rejected_events = read.calendar.problems.len();
    answer.unmapped = read.given.unmapped.into_iter().take(MOST).collect();
    let rejected = read.calendar.problems.into_iter().take(MOST);
    answer.rejected = rejected.map(RejectedEvent::from).collect();
    Ok(answer)
}
