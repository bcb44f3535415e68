//! Attendance: who took part in a planned session, and for how long.

use jiff::Timestamp;
use plimsoll_domain::{GivenBy, Minutes};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::write::Change;
use super::{events as planned, reach, schedule};
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, AttendanceId, EventId};
use crate::store::attendance::{self, Attendance};
use crate::store::events::{self, Event};
use crate::store::{self, AttendanceStatus, Conn, EventStatus, Versioned};
use crate::web::json::shorten_text;

/// Minutes that somebody may have stayed longer than planned.
const LONGER_BY: i64 = 30;

/// What the list says of one athlete at one event.
///
/// Exactly one of `event_id` and `event_external_id`, and of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "event_external_id": "hall-3301", "athlete_external_id": "P-07", "status": "present",
    "minutes": 85}))]
pub struct AttendanceInput {
    /// The event, by our id.
    #[schema(format = Uuid)]
    pub event_id: Option<String>,
    /// The event, by the scheduling system's id.
    pub event_external_id: Option<String>,
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// present, partial, absent or unknown.
    #[schema(value_type = String)]
    pub status: Option<String>,
    /// Minutes she took part, where they were measured; at most 30 more than planned. They count
    /// before planned and before reported minutes.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// For absent: confirmed by a coach who has seen that the athlete reports the session. It sets
    /// her report aside.
    pub confirmed: Option<bool>,
    /// Who said so: athlete, guardian or coach (assumed).
    pub given_by: Option<String>,
}

/// An entry of the list as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "attendance_id": "0199a1b2-5555-7e4f-8a5b-6c7d8e9f0a1b",
    "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "status": "present", "minutes": 85,
    "confirmed": false, "given_by": "coach", "received_at": "2026-09-07T19:02:11Z", "version": 1,
    "warnings": []}))]
pub struct AttendanceAnswer {
    /// Its id.
    pub attendance_id: AttendanceId,
    /// The event.
    pub event_id: EventId,
    /// Whom it is about.
    pub athlete_id: AthleteId,
    /// present, partial, absent or unknown.
    #[schema(value_type = String)]
    pub status: &'static str,
    /// Minutes she took part.
    pub minutes: Option<i32>,
    /// Whether an absence was confirmed against her own report.
    pub confirmed: bool,
    /// Who said so.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What is odd about it, said when it is entered; see /problems for each code.
    #[schema(value_type = Vec<String>)]
    pub warnings: Vec<Code>,
}

impl From<Versioned<Attendance>> for AttendanceAnswer {
    fn from(entry: Versioned<Attendance>) -> Self {
        let Versioned { content, version } = entry;
        Self {
            attendance_id: content.attendance_id,
            event_id: content.event_id,
            athlete_id: content.athlete_id,
            status: content.status.code(),
            minutes: content.minutes,
            confirmed: content.confirmed,
            given_by: content.given_by.code(),
            received_at: version.received_at,
            version: version.number,
            warnings: Vec::new(),
        }
    }
}

/// Enters what the list says of an athlete at an event: for the first time, anew, or unchanged. Says
/// whether it is there for the first time.
pub fn enter(
    change: &mut Change<'_>,
    input: &AttendanceInput,
) -> Result<(AttendanceAnswer, bool), Problem> {
    let (event, wanted) = checked(change, input)?;
    let (tenant, athlete) = (change.tenant(), wanted.athlete_id);
    let known = attendance::find(change.conn, tenant, event.event_id, athlete)?;
    let new = known.is_none();
    let id = known
        .as_ref()
        .map_or(wanted.attendance_id, |known| known.content.attendance_id);
    let content = Attendance {
        attendance_id: id,
        ..wanted
    };
    match known {
        Some(known) if known.content == content => {}
        Some(known) => {
            let next = store::Change {
                replaces: known.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                attendance::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
        None => change.store_with(|conn, tenant, moment, author| {
            attendance::insert(conn, tenant, moment, author, &[content])
        })?,
    }
    let warnings = follow(change, &event, athlete)?;
    let stored = find(change.conn, change.caller, id)?;
    let mut answer = AttendanceAnswer::from(stored);
    answer.warnings = own_warnings(change, &event, &answer)?;
    answer.warnings.extend(warnings);
    Ok((answer, new))
}

/// Takes an entry back.
pub fn remove(change: &mut Change<'_>, current: Versioned<Attendance>) -> Result<(), Problem> {
    let (event_id, athlete) = (current.content.event_id, current.content.athlete_id);
    let tombstone = store::Change {
        replaces: current.version.number,
        content: current.content,
        deleted: true,
    };
    change.store_with(|conn, tenant, moment, author| {
        attendance::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    let tenant = change.tenant();
    let event = events::current(change.conn, tenant, event_id)?;
    let event = event.ok_or_else(|| Problem::internal(&"an entry without its event"))?;
    follow(change, &event.content, athlete).map(drop)
}

/// The undeleted entry of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: AttendanceId,
) -> Result<Versioned<Attendance>, Problem> {
    let found = attendance::current(conn, caller.tenant, id)?
        .filter(|entry| !entry.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// Follows a change through to what it counts as; what a person should look at comes back.
fn follow(
    change: &mut Change<'_>,
    event: &Event,
    athlete: AthleteId,
) -> Result<Vec<Code>, Problem> {
    let standings = schedule::attendance_changed(change, athlete, event.load_date)?;
    let of_event = standings
        .into_values()
        .filter(|one| one.event_id == Some(event.event_id));
    let disputed = |code: &Code| {
        matches!(
            code,
            Code::MinutesDiffer | Code::ReportedThoughAbsent | Code::SetAside
        )
    };
    let mut found: Vec<Code> = of_event
        .flat_map(|one| one.warnings)
        .filter(disputed)
        .collect();
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

fn own_warnings(
    change: &mut Change<'_>,
    event: &Event,
    entry: &AttendanceAnswer,
) -> Result<Vec<Code>, Problem> {
    let mut found = Vec::new();
    if event.status == EventStatus::Cancelled {
        found.push(Code::EventCancelled);
    }
    if !schedule::is_expected(change, event, entry.athlete_id)? {
        found.push(Code::NotExpected);
    }
    if entry.status == AttendanceStatus::Partial.code() && entry.minutes.is_none() {
        found.push(Code::PartialWithoutMinutes);
    }
    Ok(found)
}

fn checked(
    change: &mut Change<'_>,
    input: &AttendanceInput,
) -> Result<(Event, Attendance), Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let event = event_named(change, input)?;
    let event = faults.take(event);
    let subject = People::subject_of(change, naming)?;
    let subject = faults.take(subject);
    let status = faults.take(status(input.status.as_deref()));
    let minutes = faults.take(minutes(input, event.as_ref(), status));
    let role = change.caller.principal.role;
    let given_by = faults.take(given_by(input.given_by.as_deref(), role));
    let confirmed = faults.take(confirmed(input.confirmed, status, given_by));
    let attendance_id = change.new_id();
    let made = (|| {
        let event = event?;
        let entry = Attendance {
            attendance_id,
            event_id: event.event_id,
            athlete_id: subject?.athlete_id,
            status: status?,
            minutes: minutes?.map(|minutes| minutes.get().into()),
            confirmed: confirmed?,
            given_by: given_by?,
        };
        Some((event, entry))
    })();
    faults.settle(made)
}

/// The event that a body names, within the caller's reach.
fn event_named(
    change: &mut Change<'_>,
    input: &AttendanceInput,
) -> Result<Result<Event, FieldProblem>, Problem> {
    const ONE: &str = "one of event_id and event_external_id";
    let (conn, caller) = (&mut *change.conn, change.caller);
    let (pointer, given, mut found) = match (&input.event_id, &input.event_external_id) {
        (None, None) => return Ok(Err(FieldProblem::missing("/event_id", ONE))),
        (Some(id), Some(_)) => {
            let fault = FieldProblem::new("/event_id", Code::AmbiguousEvent, shorten_text(id));
            return Ok(Err(fault.allowed(ONE)));
        }
        (Some(id), None) => {
            let found = match id.parse() {
                Ok(id) => events::current(conn, caller.tenant, id)?,
                Err(_) => None,
            };
            let found = found.filter(|event| !event.version.deleted);
            ("/event_id", id, found.into_iter().collect::<Vec<_>>())
        }
        (None, Some(external)) => {
            let pointer = "/event_external_id";
            if let Err(fault) = fields::line(pointer, Some(external)) {
                return Ok(Err(fault));
            }
            let found = events::by_external_ids(conn, caller.tenant, &[external])?;
            (pointer, external, found)
        }
    };
    let mut visible = Vec::with_capacity(found.len());
    for event in found.drain(..) {
        if planned::is_visible(conn, caller, &event.content)? {
            visible.push(event.content);
        }
    }
    let fault = |code| FieldProblem::new(pointer, code, shorten_text(given));
    Ok(match visible.len() {
        0 => Err(fault(Code::UnknownEvent).allowed("an event of this club within your reach")),
        1 => Ok(visible.remove(0)),
        _ => Err(fault(Code::AmbiguousEvent).allowed("event_id")),
    })
}

fn status(given: Option<&str>) -> Result<AttendanceStatus, FieldProblem> {
    let codes = || fields::list(AttendanceStatus::ALL.iter().map(|status| status.code()));
    fields::coded("/status", given, AttendanceStatus::parse, codes)
}

/// Minutes taken part: of present or partial only, and not much more than planned.
fn minutes(
    input: &AttendanceInput,
    event: Option<&Event>,
    status: Option<AttendanceStatus>,
) -> Result<Option<Minutes>, FieldProblem> {
    let Some(given) = &input.minutes else {
        return Ok(None);
    };
    let minutes = fields::minutes("/minutes", Some(given))?;
    if matches!(
        status,
        Some(AttendanceStatus::Absent | AttendanceStatus::Unknown)
    ) {
        let fault = FieldProblem::new("/minutes", Code::NotAttended, given.clone());
        return Err(fault.allowed("no minutes, or the status present or partial"));
    }
    let most = event.map_or(i64::from(Minutes::MAX), |event| {
        i64::from(event.minutes) + LONGER_BY
    });
    if i64::from(minutes.get()) <= most {
        return Ok(Some(minutes));
    }
    Err(
        FieldProblem::new("/minutes", Code::MinutesOutOfRange, given.clone())
            .detail(format!(
                "Minutes is {given}; the session was planned shorter."
            ))
            .allowed(format!("1 to {most}, the planned minutes and {LONGER_BY}")),
    )
}

/// Who said so: coaches speak for themselves, programs and administrators pass on what they were
/// told.
fn given_by(given: Option<&str>, role: Role) -> Result<GivenBy, FieldProblem> {
    match (given, role) {
        (None, _) => Ok(GivenBy::Coach),
        (Some(_), Role::ClubAdmin) => fields::given_by(given, Role::Integration),
        (Some(_), _) => fields::given_by(given, role),
    }
}

/// Whether an absence is confirmed: a coach's word.
fn confirmed(
    given: Option<bool>,
    status: Option<AttendanceStatus>,
    given_by: Option<GivenBy>,
) -> Result<bool, FieldProblem> {
    let confirmed = given.unwrap_or(false);
    let fits = status.is_none_or(|status| status == AttendanceStatus::Absent)
        && given_by.is_none_or(|given_by| given_by == GivenBy::Coach);
    if !confirmed || fits {
        return Ok(confirmed);
    }
    Err(FieldProblem::new("/confirmed", Code::NotAttended, true)
        .allowed("true only for absent, given by the coach"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_absence_is_confirmed_by_a_coach() {
        let absent = Some(AttendanceStatus::Absent);
        assert_eq!(confirmed(None, absent, Some(GivenBy::Coach)), Ok(false));
        assert_eq!(
            confirmed(Some(true), absent, Some(GivenBy::Coach)),
            Ok(true)
        );
        assert!(confirmed(Some(true), absent, Some(GivenBy::Guardian)).is_err());
        let present = Some(AttendanceStatus::Present);
        assert!(confirmed(Some(true), present, Some(GivenBy::Coach)).is_err());
    }

    #[test]
    fn coaches_speak_for_themselves() {
        assert_eq!(given_by(None, Role::Integration), Ok(GivenBy::Coach));
        assert_eq!(
            given_by(Some("guardian"), Role::ClubAdmin),
            Ok(GivenBy::Guardian)
        );
        assert!(given_by(Some("athlete"), Role::Coach).is_err());
    }

    #[test]
    fn who_was_not_there_has_no_minutes() {
        let input = AttendanceInput {
            minutes: Some(80.into()),
            ..AttendanceInput::default()
        };
        let code = |status| minutes(&input, None, Some(status)).map_err(|fault| fault.code);
        assert_eq!(code(AttendanceStatus::Absent), Err(Code::NotAttended));
        assert!(code(AttendanceStatus::Partial).is_ok());
    }
}
