//! Session reports from CSV: a header line with the names of the JSON fields, one report a line.
//!
//! A byte order mark, CRLF and semicolons between cells are taken as they come from spreadsheets.
//! Cells are never guessed at: a date written 13.09.2026 is refused with what is allowed.

use serde_json::{Map, Number, Value};

use super::SessionInput;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::table::{Table, bare, guarded, line};
use crate::web::json::shorten_text;

/// The columns that are written.
pub const COLUMNS: [&str; 14] = [
    "external_id",
    "athlete_id",
    "started_at",
    "time_zone",
    "minutes",
    "rpe",
    "setting",
    "kind",
    "event_external_id",
    "basis",
    "given_at",
    "given_by",
    "note",
    "reason",
];
/// Cells that are numbers in JSON.
const NUMBERS: [&str; 2] = ["rpe", "minutes"];

/// One line: the report as JSON, or the cell that could not be read.
pub type Row = Result<Value, FieldProblem>;

/// Reads a file, and no more of it than one report beyond the most that are taken.
///
/// # Errors
/// A 400 with the line where the text stops being CSV, or for a header that cannot be used.
pub fn read(bytes: &[u8], most_rows: usize) -> Result<Vec<Row>, Problem> {
    let table = Table::read(bytes, most_rows)?;
    let rows = table.records.iter();
    Ok(rows.map(|record| row(&table.header, record)).collect())
}

/// Empty cells count as fields that were not given.
fn row(header: &[String], record: &csv::StringRecord) -> Row {
    let mut report = Map::new();
    for (name, cell) in header.iter().zip(record) {
        // Blanks around a value come from spreadsheets; those in a note or behind an apostrophe are
        // the writer's.
        let meant = name == "note" || cell.starts_with('\'');
        let cell = if meant { cell } else { cell.trim() };
        if cell.is_empty() {
            continue;
        }
        let value = if NUMBERS.contains(&name.as_str()) {
            Value::Number(number(name, cell)?)
        } else {
            Value::String(bare(cell).to_owned())
        };
        report.insert(name.clone(), value);
    }
    Ok(Value::Object(report))
}

/// A report as a line under [`COLUMNS`]. Texts that a spreadsheet would run as a formula, or that
/// begin or end with a blank, get a leading apostrophe, which reading takes off again.
pub fn write(report: &SessionInput) -> Vec<u8> {
    let number = |given: &Option<Number>| given.as_ref().map(Number::to_string);
    let texts = [
        &report.external_id,
        &report.athlete_id,
        &report.started_at,
        &report.time_zone,
        &number(&report.minutes),
        &number(&report.rpe),
        &report.setting,
        &report.kind,
        &report.event_external_id,
        &report.basis,
        &report.given_at,
        &report.given_by,
        &report.note,
        &report.reason,
    ];
    let cells: Vec<String> = texts
        .iter()
        .map(|text| text.as_deref().map(guarded).unwrap_or_default())
        .collect();
    line(&cells.iter().map(String::as_str).collect::<Vec<_>>())
}

fn number(name: &str, cell: &str) -> Result<Number, FieldProblem> {
    serde_json::from_str(cell).map_err(|_| {
        FieldProblem::new(format!("/{name}"), Code::NotANumber, shorten_text(cell))
            .allowed("digits, with a point before decimals")
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::services::table::FORMULA;

    fn read(bytes: &[u8]) -> Result<Vec<Row>, Problem> {
        super::read(bytes, 10)
    }

    fn refused(text: &[u8]) -> String {
        read(text).unwrap_err().detail
    }

    #[test]
    fn a_spreadsheet_export_is_read_as_it_comes() {
        let text = "\u{feff}athlete_external_id;rpe;minutes;note\r\nP-07;6.5;90;\"late; wet hall\"\r\n\
                    P-08;;90;\r\n";
        let rows = read(text.as_bytes()).unwrap();
        let first = json!({"athlete_external_id": "P-07", "rpe": 6.5, "minutes": 90,
            "note": "late; wet hall"});
        assert_eq!(rows[0], Ok(first));
        assert_eq!(
            rows[1],
            Ok(json!({"athlete_external_id": "P-08", "minutes": 90}))
        );
    }

    #[test]
    fn a_report_is_written_as_it_can_be_read() {
        for note in [
            "=1+1",
            "'quoted",
            "plain, with comma",
            "+4 \"points\"",
            "−",
            "two\nlines",
            " indented ",
            "'",
            "''= ",
            "blank behind\u{a0}",
        ] {
            let report = SessionInput {
                external_id: Some(note.to_owned()),
                reason: Some(note.to_owned()),
                rpe: Number::from_f64(6.5),
                minutes: Some(90.into()),
                note: Some(note.to_owned()),
                ..SessionInput::default()
            };
            let file = [line(&COLUMNS), write(&report)].concat();
            for record in csv::Reader::from_reader(&file[..]).records() {
                let record = record.unwrap();
                let runs = record.iter().find(|cell| cell.starts_with(FORMULA));
                assert_eq!(runs, None, "{note}");
            }
            let rows = read(&file).unwrap();
            let back: SessionInput = serde_json::from_value(rows[0].clone().unwrap()).unwrap();
            assert_eq!(back, report);
        }
    }

    #[test]
    fn a_cell_that_is_no_number_spoils_its_own_line_only() {
        let rows = read(b"rpe,minutes\n6,90\n\"6,5\",90\nsix,90\n").unwrap();
        assert!(rows[0].is_ok());
        for bad in &rows[1..] {
            let fault = bad.as_ref().unwrap_err();
            assert_eq!(
                (fault.pointer.as_str(), fault.code),
                ("/rpe", Code::NotANumber)
            );
        }
    }

    #[test]
    fn what_is_not_csv_is_refused_with_its_line() {
        assert_eq!(
            refused(b"rpe,minutes\n6,90\n6\n"),
            "Line 3 has another number of cells than the header."
        );
        assert_eq!(refused(b"rpe,minutes\n6,\xff\n"), "Line 2 is not UTF-8.");
        assert_eq!(refused(b"rpe,rpe\n"), "The column rpe is there twice.");
        assert_eq!(refused(b"rpe,\n"), "Column 2 of the header has no name.");
        let wide = vec!["x"; 10_001].join(",");
        assert!(refused(wide.as_bytes()).contains("at most 64"));
        assert!(read("r\0p\0e\0".as_bytes()).unwrap().is_empty());
    }
}
