//! From an entry of the attendance list as sent to one that can be stored: every field checked, every fault collected.

use plimsoll_domain::{GivenBy, Minutes};

use super::AttendanceInput;
use crate::auth::Role;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::events as planned;
use crate::services::fields::{self, Faults};
use crate::services::people::{Naming, People};
use crate::services::write::Change;
use crate::store::AttendanceStatus;
use crate::store::attendance::Attendance;
use crate::store::events::{self, Event};
use crate::web::json::shorten_text;

/// Minutes that somebody may have stayed longer than planned.
const LONGER_BY: i64 = 30;

/// Checks an entry: the event it is of, and what can be stored.
pub(super) fn checked(
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
