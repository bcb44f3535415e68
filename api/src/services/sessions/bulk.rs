//! Many reports at once: good rows land, each bad row says why.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use serde_json::value::RawValue;
use utoipa::ToSchema;

use super::apply::{Applied, apply};
use super::draft::{Draft, check};
use super::record::Outcome;
use super::{SessionInput, entry};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::SessionId;
use crate::services::people::People;
use crate::services::write::Change;
use crate::web::json;

/// Most rows of a call that is read whole.
pub const MOST_ROWS: usize = 10_000;
/// Most bytes of a line of a stream, without what ends it.
pub const LONGEST_LINE: usize = 64 * 1024;

/// A row as read: the report, or what kept it from being one.
pub type Row = Result<SessionInput, FieldProblem>;

/// The answer of a bulk call.
#[derive(Debug, Clone, Default, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "dry_run": false, "rows": 2, "accepted": 1, "unchanged": 0, "rejected": 1,
    "results": [
        {"row": 1, "outcome": "accepted", "session_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b"},
        {"row": 2, "outcome": "rejected", "session_id": null, "problems": [
            {"pointer": "/rpe", "code": "rpe_out_of_range",
             "detail": "Session RPE is 11; it goes from 0 to 10 in steps of 0.5.",
             "given": 11, "allowed": "0 to 10 in steps of 0.5"}]}]}))]
pub struct BulkAnswer {
    /// Whether nothing was stored because the call was a trial.
    pub dry_run: bool,
    /// Rows read.
    pub rows: usize,
    /// Rows stored, as new reports or new versions.
    pub accepted: usize,
    /// Rows whose content was there already.
    pub unchanged: usize,
    /// Rows refused.
    pub rejected: usize,
    /// One result a row, in order.
    pub results: Vec<RowResult>,
}

/// What became of one row.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RowResult {
    /// Its number, from 1.
    pub row: usize,
    /// `accepted`, `unchanged` or `rejected`.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// The report; in a trial the id of an accepted row is not kept.
    pub session_id: Option<SessionId>,
    /// What is odd about it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>, required = false)]
    pub warnings: Vec<Code>,
    /// What is wrong with it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub problems: Vec<FieldProblem>,
}

impl BulkAnswer {
    /// The answer of these results.
    pub fn of(dry_run: bool, results: Vec<RowResult>) -> Self {
        let count = |outcome| {
            results
                .iter()
                .filter(|result| result.outcome == outcome)
                .count()
        };
        Self {
            dry_run,
            rows: results.len(),
            accepted: count("accepted"),
            unchanged: count("unchanged"),
            rejected: count("rejected"),
            results,
        }
    }
}

/// A bulk call in JSON.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BulkInput {
    /// At most 10,000 reports.
    #[schema(value_type = Vec<SessionInput>)]
    sessions: Vec<Box<RawValue>>,
}

/// Reads `{"sessions": […]}`.
///
/// # Errors
/// Where the document is not of that form; a row that is not a report comes back as such.
pub fn read_json(bytes: &[u8]) -> Result<Vec<Row>, Problem> {
    let input: BulkInput = json::from_slice(bytes)?;
    let rows = input.sessions.iter();
    Ok(rows.map(|given| row(given.get().as_bytes())).collect())
}

/// Reads a row from JSON text.
pub fn row(text: &[u8]) -> Row {
    json::row_from_slice(text)
}

/// Reads a row of a table, its cells named.
pub fn row_of_table(cells: &Value) -> Row {
    json::from_value(cells)
}

/// Stores the rows; `first` is the number of the first.
pub fn store(
    change: &mut Change<'_>,
    rows: &[Row],
    first: usize,
) -> Result<Vec<RowResult>, Problem> {
    let people = People::read(change, rows.iter().flatten().map(SessionInput::naming))?;
    let entry = entry(change);
    let mut drafts: Vec<Draft> = Vec::with_capacity(rows.len());
    let checked: Vec<Option<Vec<FieldProblem>>> = rows
        .iter()
        .map(|row| {
            let outcome = match row {
                Ok(input) => check(input, people.subject(input.naming()), entry),
                Err(unreadable) => Err(vec![unreadable.clone()]),
            };
            outcome.map(|draft| drafts.push(draft)).err()
        })
        .collect();
    let source = change.source().to_owned();
    let mut applied = apply(change, &people, entry, source, &drafts, None)?.into_iter();
    let results = checked
        .into_iter()
        .zip(first..)
        .map(|(problems, row)| match problems {
            Some(problems) => Ok(rejected(row, problems)),
            None => match applied.next() {
                Some(Ok(applied)) => Ok(stored(row, applied)),
                Some(Err(problem)) => Ok(rejected(row, vec![problem])),
                None => Err(Problem::internal(&"a row has no outcome")),
            },
        });
    results.collect()
}

fn stored(row: usize, applied: Applied) -> RowResult {
    let outcome = match applied.recorded.outcome {
        Outcome::Accepted => "accepted",
        Outcome::Unchanged => "unchanged",
    };
    RowResult {
        row,
        outcome,
        session_id: Some(applied.recorded.session.session_id),
        warnings: applied.warnings,
        problems: Vec::new(),
    }
}

fn rejected(row: usize, problems: Vec<FieldProblem>) -> RowResult {
    RowResult {
        row,
        outcome: "rejected",
        session_id: None,
        warnings: Vec::new(),
        problems,
    }
}
