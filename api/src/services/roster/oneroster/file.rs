//! One file of a package: its header, its lines, and what each cell may be.

use std::collections::BTreeSet;

use csv::StringRecord;
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::roster::{MOST_LINKS, Mode};

use super::faults::{PackageFaults, Place, refuse};
use super::layout::Layout;
use crate::error::{Code, Problem};
use crate::web::json::shorten_text;

/// Most lines of a file.
pub const MOST_LINES: u64 = 100_000;
/// The first line after the header, as an editor counts where no cell holds a line break.
const FIRST_LINE: u64 = 2;

/// A file that is read line by line.
pub struct File<'a> {
    name: String,
    mode: Mode,
    layout: Layout,
    /// The place of each column of the layout; `None` where this edition is without it.
    places: Vec<Option<usize>>,
    reader: csv::Reader<&'a [u8]>,
    ids: BTreeSet<String>,
}

/// A line of a file, its cells by name.
pub struct Line<'a> {
    file: &'a str,
    layout: Layout,
    places: &'a [Option<usize>],
    record: &'a StringRecord,
    /// Its number, the header being line 1.
    pub number: u64,
}

impl<'a> File<'a> {
    /// Reads the header.
    pub fn open(bytes: &'a [u8], layout: Layout, mode: Mode) -> Result<Self, Problem> {
        let name = format!("{}.csv", layout.name);
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let mut reader = csv::ReaderBuilder::new().from_reader(bytes);
        let header = reader
            .headers()
            .map_err(|_| refuse(&name, Code::MalformedLine, "Its header cannot be read."))?;
        let places = places(&name, layout, header)?;
        Ok(Self {
            name,
            mode,
            layout,
            places,
            reader,
            ids: BTreeSet::new(),
        })
    }

    /// Reads all lines that are in order; faults are collected.
    pub fn lines<T>(
        mut self,
        faults: &mut PackageFaults,
        mut read: impl FnMut(&Line<'_>, &mut PackageFaults) -> Option<T>,
    ) -> Result<Vec<T>, Problem> {
        let (mut record, mut rows) = (StringRecord::new(), Vec::new());
        for count in 0.. {
            match self.reader.read_record(&mut record) {
                Ok(false) => break,
                Ok(true) => {}
                Err(_) => {
                    // What stands in the line is not told: it may be a password.
                    let place = Place {
                        file: &self.name,
                        line: FIRST_LINE + count,
                        column: "",
                    };
                    faults.add_untold(
                        place,
                        Code::MalformedLine,
                        "UTF-8, with as many cells as the header",
                    );
                    break;
                }
            }
            if count == MOST_LINES {
                let detail = format!("A file has at most {MOST_LINES} lines.");
                return Err(refuse(&self.name, Code::ArchiveTooLarge, detail));
            }
            let number = FIRST_LINE + count;
            let (file, layout, places) = (self.name.as_str(), self.layout, self.places.as_slice());
            let line = Line {
                file,
                layout,
                places,
                record: &record,
                number,
            };
            line.check(self.mode, faults);
            if !self.ids.insert(line.text("sourcedId").to_owned()) {
                line.fault("sourcedId", Code::DuplicateId, "each id once", faults);
            }
            rows.extend(read(&line, faults));
        }
        Ok(rows)
    }
}

/// Where the columns of a layout stand in a header that has them in their order.
fn places(
    file: &str,
    layout: Layout,
    header: &StringRecord,
) -> Result<Vec<Option<usize>>, Problem> {
    let known = |name: &str| layout.columns.iter().any(|column| column.name == name);
    let is_own = |name: &str| name.starts_with("metadata.");
    if let Some(name) = header.iter().find(|name| !known(name) && !is_own(name)) {
        let detail = format!("There is no column {}.", shorten_text(name));
        return Err(refuse(file, Code::UnknownColumn, detail));
    }
    let mut at = 0;
    let mut places = Vec::with_capacity(layout.columns.len());
    for column in layout.columns {
        if header.get(at) == Some(column.name) {
            places.push(Some(at));
            at += 1;
        } else if column.may_lack {
            places.push(None);
        } else {
            let detail = format!(
                "The column {} is missing, or not in its place.",
                column.name
            );
            return Err(refuse(file, Code::WrongColumns, detail));
        }
    }
    match header.iter().skip(at).all(is_own) {
        true => Ok(places),
        false => Err(refuse(
            file,
            Code::WrongColumns,
            "A column is there twice, or not in its place.",
        )),
    }
}

impl Line<'_> {
    /// The text of a cell; empty where there is none.
    pub fn text(&self, column: &str) -> &str {
        let place = self
            .layout
            .columns
            .iter()
            .position(|one| one.name == column);
        let cell = place.and_then(|place| self.record.get(self.places[place]?));
        match cell.unwrap_or_default() {
            "NULL" => "",
            text => text,
        }
    }

    /// The texts of a cell that is a list, of which there are [`MOST_LINKS`] at most.
    pub fn list(&self, column: &str, faults: &mut PackageFaults) -> Vec<&str> {
        if self.texts(column).nth(MOST_LINKS).is_some() {
            let allowed = format!("at most {MOST_LINKS} in a cell");
            self.fault(column, Code::OutOfRange, &allowed, faults);
        }
        self.texts(column).take(MOST_LINKS).collect()
    }

    fn texts(&self, column: &str) -> impl Iterator<Item = &str> {
        self.text(column)
            .split(',')
            .map(str::trim)
            .filter(|text| !text.is_empty())
    }

    /// A cell that has text.
    pub fn some(&self, column: &str) -> Option<String> {
        Some(self.text(column).to_owned()).filter(|text| !text.is_empty())
    }

    /// Whether a delta says that it is gone.
    pub fn is_gone(&self) -> bool {
        self.text("status") == "tobedeleted"
    }

    /// Adds a fault of a cell.
    pub fn fault(&self, column: &str, code: Code, allowed: &str, faults: &mut PackageFaults) {
        let place = Place {
            file: self.file,
            line: self.number,
            column,
        };
        faults.add(place, code, self.text(column), allowed);
    }

    /// A date, where there is one.
    pub fn date(&self, column: &str, faults: &mut PackageFaults) -> Option<Date> {
        let text = self.text(column);
        // `FromStr` of dates takes more than the format allows.
        let date = text
            .parse()
            .ok()
            .filter(|_| text.len() == "2026-11-09".len());
        if date.is_none() && !text.is_empty() {
            self.fault(column, Code::InvalidDate, "YYYY-MM-DD", faults);
        }
        date
    }

    /// A value of a list; those of the sender's own begin with `ext:`.
    pub fn coded(&self, column: &str, codes: &[&str], faults: &mut PackageFaults) {
        let text = self.text(column);
        let own = text
            .strip_prefix("ext:")
            .is_some_and(|rest| !rest.is_empty());
        if !text.is_empty() && !own && !codes.contains(&text) {
            self.fault(column, Code::UnknownValue, &codes.join(", "), faults);
        }
    }

    /// What holds of every line: values that must be there, and how it stands with a full roster and with a delta.
    fn check(&self, mode: Mode, faults: &mut PackageFaults) {
        for column in self.layout.columns.iter().filter(|column| column.has_value) {
            if self.text(column.name).is_empty() {
                self.fault(column.name, Code::MissingField, "a value", faults);
            }
        }
        let (status, modified) = (self.text("status"), self.text("dateLastModified"));
        match mode {
            Mode::Full => {
                for column in ["status", "dateLastModified"] {
                    if !self.text(column).is_empty() {
                        self.fault(column, Code::UnknownValue, "blank in a bulk file", faults);
                    }
                }
            }
            Mode::Delta => {
                if !["active", "tobedeleted"].contains(&status) {
                    self.fault("status", Code::UnknownValue, "active, tobedeleted", faults);
                }
                if modified.parse::<Timestamp>().is_err() {
                    self.fault(
                        "dateLastModified",
                        Code::InvalidInstant,
                        "an instant in ISO 8601, UTC",
                        faults,
                    );
                }
            }
        }
    }
}
