//! From which line of a table each part of a programme came, and in what lines differ.

use std::collections::BTreeMap;

use serde_json::{Number, Value};

use super::input::ProgrammeSessionInput;
use crate::error::FieldProblem;

/// Lines by the pointers of what stands on them, or begins there.
#[derive(Debug, Default)]
pub struct Places(BTreeMap<String, usize>);

impl Places {
    /// Something begins on a line, counted after the header from 1.
    pub(super) fn put(&mut self, pointer: String, row: usize) {
        self.0.insert(pointer, row);
    }

    /// A fault by line and column.
    pub fn by_line(&self, fault: FieldProblem) -> FieldProblem {
        let mut whole = fault.pointer.as_str();
        let row = loop {
            if let Some(row) = self.0.get(whole) {
                break *row;
            }
            match whole.rsplit_once('/') {
                Some((parent, _)) if !parent.is_empty() => whole = parent,
                _ => break 1,
            }
        };
        let rest = fault.pointer.strip_prefix(whole).unwrap_or_default();
        let column = column(
            whole,
            if rest.is_empty() {
                &fault.pointer
            } else {
                rest
            },
        );
        let detail = format!("Line {}: {}", row + 1, fault.detail);
        FieldProblem {
            pointer: format!("/rows/{row}/{column}"),
            ..fault
        }
        .detail(detail)
    }
}

/// The column of a field of what stands at a pointer.
fn column(whole: &str, field: &str) -> &'static str {
    let part = whole.rsplit('/').nth(1).unwrap_or_default();
    let mut words = field.split('/').filter(|word| !word.is_empty());
    let (first, second) = (words.next().unwrap_or_default(), words.next());
    match (part, first, second) {
        (_, "distance", Some("unit")) => "distance_unit",
        (_, "distance", Some("returns_to_start")) => "returns_to_start",
        (_, "distance", _) => "distance",
        (_, "load", Some("unit")) => "load_unit",
        (_, "load", _) => "load",
        (_, "set_up", Some("most")) => "set_up_to",
        (_, "set_up", Some("unit")) => "set_up_unit",
        (_, "set_up", _) => "set_up_from",
        (_, "height", Some("most")) => "height_to",
        (_, "height", Some("unit")) => "height_unit",
        (_, "height", _) => "height_from",
        (_, "note", _) => "note",
        ("sessions", "name", _) => "session_name",
        ("blocks", "name", _) => "block",
        (_, "name", _) => "programme",
        (_, "setting", _) => "setting",
        (_, "kind", _) => "kind",
        (_, "start", _) => "start",
        (_, "minutes", _) => "minutes",
        (_, "intended_rpe", _) => "intended_rpe",
        (_, "warm_up", Some("categories")) => "warm_up_categories",
        (_, "warm_up", Some("feedback")) => "warm_up_feedback",
        (_, "warm_up", _) => "warm_up_minutes",
        (_, "exercise", _) => "exercise",
        (_, "sets", _) => "sets",
        (_, "reps", _) => "reps",
        (_, "hold_seconds", _) => "hold_seconds",
        (_, "seconds", _) => "seconds",
        (_, "side", _) => "side",
        (_, "band", _) => "band",
        (_, "rest_seconds", _) => "rest_seconds",
        ("weeks" | "days", ..) => "day",
        _ => "week",
    }
}

/// The column in which two lines of a session differ.
pub(super) fn differs(
    one: &ProgrammeSessionInput,
    other: &ProgrammeSessionInput,
) -> Option<&'static str> {
    let text = |text: &Option<String>| text.clone().map(Value::from);
    let number = |number: &Option<Number>| number.clone().map(Value::from);
    let warm_up = |session: &ProgrammeSessionInput| session.warm_up.clone().unwrap_or_default();
    let cells = |session: &ProgrammeSessionInput| {
        [
            ("session_name", text(&session.name)),
            ("setting", text(&session.setting)),
            ("kind", text(&session.kind)),
            ("start", text(&session.start)),
            ("minutes", number(&session.minutes)),
            ("intended_rpe", number(&session.intended_rpe)),
            ("warm_up_minutes", number(&warm_up(session).minutes)),
            (
                "warm_up_categories",
                warm_up(session).categories.map(Value::from),
            ),
            (
                "warm_up_feedback",
                warm_up(session).feedback.map(Value::from),
            ),
        ]
    };
    let both = cells(one).into_iter().zip(cells(other));
    both.into_iter()
        .find(|(one, other)| one != other)
        .map(|((column, _), _)| column)
}
