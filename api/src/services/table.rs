//! Tables as CSV (RFC 4180) with a header line, as they come from spreadsheets and go to them.
//!
//! A byte order mark, CRLF and semicolons between cells are taken as they come.

use crate::error::{Code, Problem};
use crate::web::json::shorten_text;

/// Most columns of a file; none of ours has half as many.
pub const MOST_COLUMNS: usize = 64;
/// Characters that make a spreadsheet take a cell for a formula, or hide that it is one.
pub const FORMULA: [char; 12] = [
    '=', '+', '-', '@', '\t', '\r', '\n', '\0', '＝', '＋', '－', '＠',
];

/// A file that was read.
#[derive(Debug)]
pub struct Table {
    /// The names of the columns.
    pub header: Vec<String>,
    /// The lines after the header, each with a cell a column.
    pub records: Vec<csv::StringRecord>,
}

impl Table {
    /// Reads a file, and no more of it than one line beyond the most that is taken, by which the caller knows that there are too
    /// many.
    ///
    /// # Errors
    /// A 400 with the line where the text stops being CSV, or for a header that cannot be used.
    pub fn read(bytes: &[u8], most_rows: usize) -> Result<Self, Problem> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter(bytes))
            .trim(csv::Trim::Headers)
            .from_reader(bytes);
        let header = header(&mut reader)?;
        let records = reader.records().take(most_rows.saturating_add(1));
        let records = records.collect::<Result<_, _>>();
        Ok(Self {
            header,
            records: records.map_err(|error| not_csv(&error))?,
        })
    }
}

/// A comma, unless the header line has semicolons and no comma.
fn delimiter(bytes: &[u8]) -> u8 {
    let header = bytes
        .split(|byte| *byte == b'\n')
        .next()
        .unwrap_or_default();
    if header.contains(&b';') && !header.contains(&b',') {
        b';'
    } else {
        b','
    }
}

fn header(reader: &mut csv::Reader<&[u8]>) -> Result<Vec<String>, Problem> {
    let names: Vec<String> = reader
        .headers()
        .map_err(|error| not_csv(&error))?
        .iter()
        .map(str::to_owned)
        .collect();
    let refuse = |detail: String| Err(Problem::new(Code::NotCsv, detail));
    if names.len() > MOST_COLUMNS {
        return refuse(format!(
            "The header has {} columns; at most {MOST_COLUMNS} are read.",
            names.len()
        ));
    }
    for (at, name) in names.iter().enumerate() {
        if name.is_empty() {
            return refuse(format!("Column {} of the header has no name.", at + 1));
        }
        if names[..at].contains(name) {
            return refuse(format!("The column {} is there twice.", shorten_text(name)));
        }
    }
    Ok(names)
}

/// A line of cells.
pub fn line(cells: &[&str]) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory does not fail.
    let _ = writer.write_record(cells);
    writer.into_inner().unwrap_or_default()
}

/// A cell that no spreadsheet runs as a formula: with an apostrophe before it where one would, or where blanks would be lost.
pub fn guarded(text: &str) -> String {
    if needs_guard(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// A cell without its guarding apostrophe.
pub fn bare(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if needs_guard(rest) => rest,
        _ => cell,
    }
}

/// An apostrophe that was there before needs one too, or it would be taken for the guard.
fn needs_guard(text: &str) -> bool {
    text.starts_with(FORMULA) || text.starts_with('\'') || text.trim() != text
}

fn not_csv(error: &csv::Error) -> Problem {
    let line = error.position().map_or(1, csv::Position::line);
    let what = match error.kind() {
        csv::ErrorKind::Utf8 { .. } => "is not UTF-8",
        csv::ErrorKind::UnequalLengths { .. } => "has another number of cells than the header",
        _ => "cannot be read",
    };
    Problem::new(Code::NotCsv, format!("Line {line} {what}."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_more_than_one_line_too_many_is_read() {
        let text = "a\n".repeat(100);
        for (most, read) in [(10, 11), (98, 99), (99, 99), (usize::MAX, 99)] {
            let table = Table::read(text.as_bytes(), most).unwrap();
            assert_eq!(table.records.len(), read, "{most}");
        }
        let spoilt = [text.as_bytes(), b"\xff\n"].concat();
        assert!(
            Table::read(&spoilt, 10).is_ok(),
            "what is behind is not looked at"
        );
        assert!(Table::read(&spoilt, 100).is_err());
    }
}
