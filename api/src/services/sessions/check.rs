//! From a report as sent to a report that can be stored: every field checked, every fault collected.

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Basis, Kind, Minutes, Setting};

use super::draft::{CHANGE_DAYS, CLOCK_TOLERANCE, Draft, Entry};
use super::input::{self, SessionInput};
use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults, coded, given_by};
use crate::services::local_time::{self, LocalInstant};
use crate::services::people::Subject;
use crate::services::text;

/// Checks a report. `subject` is what looking the athlete up gave.
///
/// # Errors
/// Every field at fault.
pub fn check(
    input: &SessionInput,
    subject: Result<Subject, FieldProblem>,
    entry: Entry,
) -> Result<Draft, Vec<FieldProblem>> {
    let mut faults = Faults::default();
    let subject = faults.take(subject);
    // An unknown athlete has no home zone; the other fields are judged all the same.
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let start = faults.take(started_at(input, &home));
    let minutes = faults.take(minutes(input, start.as_ref(), &home));
    let rpe = faults.take(fields::rpe("/rpe", input.rpe.as_ref()));
    let setting = faults.take(coded(
        "/setting",
        input.setting.as_deref(),
        Setting::parse,
        input::codes_of_setting,
    ));
    let kind = faults.take(coded(
        "/kind",
        input.kind.as_deref(),
        Kind::parse,
        input::codes_of_kind,
    ));
    let basis = faults.take(basis(input));
    let given_by = faults.take(given_by(input.given_by.as_deref(), entry.role));
    let given_at = faults.take(given_at(input, entry.now));
    faults.extend(texts(input));
    if let (Some(start), Some(minutes), Some(given_at)) = (&start, minutes, given_at) {
        faults.extend(times(start, minutes, given_at, input, entry));
    }
    match (
        subject, start, minutes, rpe, setting, kind, basis, given_by, given_at,
    ) {
        (
            Some(subject),
            Some(start),
            Some(minutes),
            Some(rpe),
            Some(setting),
            Some(kind),
            Some(basis),
            Some(given_by),
            Some(given_at),
        ) if faults.is_empty() => Ok(Draft {
            athlete_id: subject.athlete_id,
            home: subject.home,
            external_id: input.external_id.clone(),
            event_external_id: input.event_external_id.clone(),
            start,
            minutes,
            rpe,
            setting,
            kind,
            basis,
            given_at,
            given_at_assumed: input.given_at.is_none(),
            given_by,
            note: input.note.clone(),
            reason: input.reason.clone(),
        }),
        _ => Err(faults.into_vec()),
    }
}

fn started_at(input: &SessionInput, home: &TimeZone) -> Result<LocalInstant, FieldProblem> {
    let allowed = "RFC 3339, such as 2026-09-13T17:30:00+02:00";
    let text = input.started_at.as_deref();
    let text = text.ok_or_else(|| FieldProblem::missing("/started_at", allowed))?;
    local_time::resolve("/started_at", text, input.time_zone.as_deref(), home)
}

fn minutes(
    input: &SessionInput,
    start: Option<&LocalInstant>,
    home: &TimeZone,
) -> Result<Minutes, FieldProblem> {
    match (&input.minutes, &input.ended_at) {
        (Some(given), None) => fields::minutes("/minutes", Some(given)),
        (None, Some(text)) => {
            let end = local_time::resolve("/ended_at", text, input.time_zone.as_deref(), home)?;
            // Without a start there is no length; the start's own fault is reported.
            let start = start.map_or(end.at - SignedDuration::from_mins(1), |start| start.at);
            let between = local_time::minutes_between(start, end.at);
            Minutes::new(between).map_err(|_| {
                FieldProblem::new("/ended_at", Code::MinutesOutOfRange, text.as_str())
                    .detail(format!(
                        "The session lasts {between} minutes; it is a {}.",
                        fields::MINUTES
                    ))
                    .allowed(fields::MINUTES)
            })
        }
        (None, None) => fields::minutes("/minutes", None),
        (Some(given), Some(_)) => {
            Err(
                FieldProblem::new("/minutes", Code::AmbiguousDuration, given.clone())
                    .allowed("one of minutes and ended_at"),
            )
        }
    }
}

fn basis(input: &SessionInput) -> Result<Basis, FieldProblem> {
    match input.basis {
        None => Ok(Basis::WholeSession),
        Some(_) => coded(
            "/basis",
            input.basis.as_deref(),
            Basis::parse,
            input::codes_of_basis,
        ),
    }
}

fn given_at(input: &SessionInput, now: Timestamp) -> Result<Timestamp, FieldProblem> {
    match input.given_at.as_deref() {
        None => Ok(now),
        Some(text) => local_time::instant("/given_at", text),
    }
}

fn texts(input: &SessionInput) -> Vec<FieldProblem> {
    let lines = [
        ("/external_id", &input.external_id),
        ("/athlete_external_id", &input.athlete_external_id),
        ("/event_external_id", &input.event_external_id),
    ];
    let lines = lines
        .into_iter()
        .filter_map(|(pointer, given)| text::line(pointer, given.as_deref()?, 200).err());
    let notes = [("/note", &input.note), ("/reason", &input.reason)];
    let notes = notes
        .into_iter()
        .filter_map(|(pointer, given)| text::note(pointer, given.as_deref()?, 280).err());
    lines.chain(notes).collect()
}

fn times(
    start: &LocalInstant,
    minutes: Minutes,
    given_at: Timestamp,
    input: &SessionInput,
    entry: Entry,
) -> Vec<FieldProblem> {
    let end = start.at + SignedDuration::from_mins(minutes.get().into());
    let latest = entry.now + CLOCK_TOLERANCE;
    let given = |text: &Option<String>| text.clone().unwrap_or_default();
    let future = |pointer: &str, text: String| {
        FieldProblem::new(pointer, Code::InFuture, text)
            .detail(format!(
                "That lies in the future; our clock shows {}.",
                entry.now
            ))
            .allowed(format!("not after {latest}"))
    };
    let mut faults = Vec::new();
    if end > latest {
        faults.push(future("/started_at", given(&input.started_at)));
    } else if given_at > latest {
        faults.push(future("/given_at", given(&input.given_at)));
    } else if given_at + CLOCK_TOLERANCE < end {
        faults.push(
            FieldProblem::new("/given_at", Code::GivenBeforeEnd, given(&input.given_at))
                .allowed(format!("not before {end}")),
        );
    } else if given_at.duration_since(end) > SignedDuration::from_hours(24 * CHANGE_DAYS)
        && !(entry.is_staff && input.reason.is_some())
    {
        faults.push(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "a reason, in a staff role").detail(
                "The rating was given more than 14 days after the session, which needs a member \
                 of staff and a reason.",
            )
        });
    }
    faults
}

#[cfg(test)]
mod tests;
