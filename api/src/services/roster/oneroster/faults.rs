//! What is wrong with a package, each with file, line and column.

use crate::error::{Code, FieldProblem, Problem};
use crate::web::json::shorten_text;

/// Most faults that are told; a broken export has the same one on every line.
const MOST: usize = 100;

/// Faults found so far.
#[derive(Debug, Default)]
pub struct PackageFaults(Vec<FieldProblem>);

/// A cell of a package.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// The file's name, such as `users.csv`.
    pub file: &'a str,
    /// Its line, the header being line 1.
    pub line: u64,
    /// The column's name; empty for the whole line.
    pub column: &'a str,
}

impl Place<'_> {
    /// As a pointer: `/users.csv/2/sourcedId`.
    fn pointer(self) -> String {
        let whole = format!("/{}/{}/{}", self.file, self.line, self.column);
        whole.trim_end_matches('/').to_owned()
    }
}

impl PackageFaults {
    /// Adds a fault of a cell.
    pub fn add(&mut self, place: Place<'_>, code: Code, given: &str, allowed: &str) {
        if self.0.len() < MOST {
            let fault = FieldProblem::new(place.pointer(), code, shorten_text(given));
            self.0.push(fault.allowed(allowed));
        }
    }

    /// Adds a fault without telling what was given.
    pub fn add_untold(&mut self, place: Place<'_>, code: Code, allowed: &str) {
        if self.0.len() < MOST {
            let detail = format!("{}.", code.title());
            let fault = FieldProblem::missing(place.pointer(), allowed);
            self.0.push(FieldProblem {
                code,
                detail,
                ..fault
            });
        }
    }

    /// Whether there is none.
    pub fn settle(self) -> Result<(), Problem> {
        match self.0.is_empty() {
            true => Ok(()),
            false => Err(Problem::invalid(self.0)),
        }
    }
}

/// The refusal of a whole file of the package, or of the package where no file is named.
pub fn refuse(file: &str, code: Code, detail: impl Into<String>) -> Problem {
    let pointer = if file.is_empty() {
        String::new()
    } else {
        format!("/{}", shorten_text(file))
    };
    let fault = FieldProblem::missing(pointer, code.remedy());
    Problem::field(FieldProblem {
        code,
        detail: detail.into(),
        ..fault
    })
}
