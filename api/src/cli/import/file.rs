//! The rows of a file of session reports.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

use crate::cli::Failure;
use crate::error::Problem;
use crate::services::sessions::bulk::{self, Row};
use crate::services::sessions::csv_rows;

/// Rows with their number, where that is known before all are read.
pub(super) struct Rows {
    /// How many there are.
    pub(super) total: Option<usize>,
    /// Each row, or why the file cannot be read on.
    pub(super) rows: Box<dyn Iterator<Item = Result<Row, Failure>>>,
}

impl Rows {
    fn whole(rows: impl ExactSizeIterator<Item = Row> + 'static) -> Self {
        Self {
            total: Some(rows.len()),
            rows: Box::new(rows.map(Ok)),
        }
    }
}

/// The rows of a file, by its ending. NDJSON is read line by line, however long it is; the others
/// are read at once.
pub(super) fn read(path: &Path) -> Result<Rows, Failure> {
    let whole = || std::fs::read(path).map_err(|error| Failure::file(path, &error));
    let unfit =
        |problem: Problem| Failure::Found(format!("{}: {}", path.display(), problem.detail));
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("csv") => {
            let lines = csv_rows::read(&whole()?, usize::MAX)
                .map_err(unfit)?
                .into_iter();
            Ok(Rows::whole(lines.map(|line| {
                line.and_then(|cells| bulk::row_of_table(&cells))
            })))
        }
        Some("json") => {
            let rows = bulk::read_json(&whole()?).map_err(unfit)?;
            Ok(Rows::whole(rows.into_iter()))
        }
        Some("ndjson") => lines(path),
        _ => Err(Failure::Usage(
            "the file ends in .csv, .json or .ndjson".into(),
        )),
    }
}

/// Blank lines are no rows, as in the bulk call.
fn lines(path: &Path) -> Result<Rows, Failure> {
    let file = File::open(path).map_err(|error| Failure::file(path, &error))?;
    let name = path.to_owned();
    let rows = BufReader::new(file)
        .split(b'\n')
        .filter(|line| !matches!(line, Ok(text) if text.trim_ascii().is_empty()))
        .map(move |line| match line {
            Ok(text) => Ok(bulk::row(&text)),
            Err(error) => Err(Failure::file(&name, &error)),
        });
    Ok(Rows {
        total: None,
        rows: Box::new(rows),
    })
}
