//! A squad's day as CSV: one row an athlete, then one row a session of the day (`sessions.…`), then one row an athlete and a
//! session she is expected at (`expected_at.…`).

use serde_json::{Value, json};

use crate::error::Problem;
use crate::pages::rows::{self, Column};
use crate::routes::squads::{TodayAnswer, TodayAthlete};

const ATHLETES: &str = "athletes";
const SESSIONS: &str = "sessions";
const EXPECTED: &str = "expected_at";

/// Columns of an athlete.
const ATHLETE: &[&str] = &[
    "display_name",
    "athlete_id",
    "availability",
    "set_by",
    "until",
    "limit.max_week_au.low",
    "limit.max_week_au.high",
    "limit.binding",
    "limit.from",
    "limit.to",
    "limit.done_au.point",
    "limit.done_au.low",
    "limit.done_au.high",
    "instructions",
    "rest_declared",
    "load_au.point",
    "load_au.low",
    "load_au.high",
    "minutes",
    "logged_sessions",
    "unlogged_sessions",
    "age_note",
];

/// Columns of a session.
const SESSION: &[&str] = &[
    "event_id",
    "starts_at",
    "minutes",
    "setting",
    "kind",
    "intended_rpe",
    "status",
];

/// Columns of who is expected where.
const EXPECTATION: &[&str] = &["display_name", "athlete_id", "event_id", "attendance"];

/// Columns of the day as a whole.
const WHOLE: &[&str] = &["squad_id", "date", "as_of", "note", "caution"];

/// The file.
///
/// # Errors
/// An internal one, where writing to memory fails.
pub fn write(answer: &TodayAnswer) -> Result<Vec<u8>, Problem> {
    let day = serde_json::to_value(answer).map_err(|error| Problem::internal(&error))?;
    let expected: Vec<Value> = answer.athletes.iter().flat_map(expected).collect();
    let of = |list: &'static str| day[list].as_array().into_iter().flatten();
    let athletes = of(ATHLETES).map(|one| (ATHLETES, one));
    let sessions = of(SESSIONS).map(|one| (SESSIONS, one));
    let expected = expected.iter().map(|one| (EXPECTED, one));
    let elements: Vec<_> = athletes.chain(sessions).chain(expected).collect();
    rows::write(&columns(), &elements, (&day, WHOLE))
}

fn columns() -> Vec<Column> {
    let athlete = ATHLETE.iter().map(|path| Column::own(ATHLETES, *path));
    let session = SESSION.iter().map(|path| Column::of(SESSIONS, path));
    let expected = EXPECTATION.iter().map(|path| Column::of(EXPECTED, path));
    athlete.chain(session).chain(expected).collect()
}

fn expected(athlete: &TodayAthlete) -> impl Iterator<Item = Value> {
    let TodayAthlete {
        athlete_id,
        display_name,
        expected_at,
        ..
    } = athlete;
    expected_at.iter().map(move |at| {
        json!({
            "display_name": display_name,
            "athlete_id": athlete_id,
            "event_id": at.event_id,
            "attendance": at.attendance,
        })
    })
}
