//! An athlete's copy as a file: CSV (RFC 4180), a line a value, with its table, the number of its record there and its column.
//!
//! What belongs to the copy as a whole stands under `copy`, and what is left out under `left_out`.

use serde_json::{Value, json};

use super::cell::cell;
use crate::error::Problem;
use crate::services::subject_copy::AthleteCopy;

const HEADER: [&str; 4] = ["table", "record", "column", "value"];

/// The file.
///
/// # Errors
/// An internal one, where writing to memory fails.
pub fn write(copy: &AthleteCopy) -> Result<Vec<u8>, Problem> {
    let mut file = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let failed = |error: csv::Error| Problem::internal(&error);
    file.write_record(HEADER).map_err(failed)?;
    let mut line = |table: &str, record: usize, column: &str, value: &Value| {
        file.write_record([table, &record.to_string(), column, &cell(value)])
            .map_err(failed)
    };
    for (column, value) in whole(copy) {
        line("copy", 1, column, &value)?;
    }
    for records in &copy.records {
        for (number, row) in (1..).zip(&records.rows) {
            for (column, value) in records.fields.iter().zip(row) {
                line(records.table, number, column, value)?;
            }
        }
    }
    for (number, left_out) in (1..).zip(&copy.left_out) {
        let told = [
            ("table", json!(left_out.table)),
            ("column", json!(left_out.column)),
            ("reason", json!(left_out.reason)),
        ];
        for (column, value) in told {
            line("left_out", number, column, &value)?;
        }
    }
    file.into_inner().map_err(|error| Problem::internal(&error))
}

fn whole(copy: &AthleteCopy) -> [(&'static str, Value); 7] {
    [
        ("schema", json!(copy.schema)),
        ("club_id", json!(copy.club_id)),
        ("athlete_id", json!(copy.athlete_id)),
        ("purpose", json!(copy.purpose)),
        ("made_at", json!(copy.made_at)),
        ("note", json!(copy.note)),
        ("record_note", json!(copy.record_note)),
    ]
}
