//! Files of answers: CSV (RFC 4180), a column a field of the JSON answer, named by the field's path.
//!
//! Elements of several lists may have rows in one file, each with columns of its own. What belongs to the whole stands on
//! every row; an answer without any element is one row, so that its notes are not lost.

use serde_json::Value;

use super::cell::cell;
use crate::error::Problem;

/// A column of the elements of one list.
#[derive(Debug, Clone)]
pub struct Column {
    list: &'static str,
    path: String,
    header: String,
}

impl Column {
    /// Named by the path in the element alone.
    pub fn own(list: &'static str, path: impl Into<String>) -> Self {
        let path = path.into();
        Self {
            list,
            header: path.clone(),
            path,
        }
    }

    /// Named by the list too.
    pub fn of(list: &'static str, path: &str) -> Self {
        Self {
            list,
            path: path.to_owned(),
            header: format!("{list}.{path}"),
        }
    }

    fn cell(&self, (list, element): (&str, &Value)) -> String {
        match self.list == list {
            true => cell(at(element, &self.path)),
            false => String::new(),
        }
    }
}

/// Writes a file of elements, each with the list it is of, and of what belongs to the whole.
///
/// # Errors
/// An internal one, where writing to memory fails.
pub fn write(
    columns: &[Column],
    elements: &[(&str, &Value)],
    (answer, whole): (&Value, &[&str]),
) -> Result<Vec<u8>, Problem> {
    let failed = |error: csv::Error| Problem::internal(&error);
    let mut file = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let headers = columns.iter().map(|column| column.header.as_str());
    file.write_record(headers.chain(whole.iter().copied()))
        .map_err(failed)?;
    let elements: &[(&str, &Value)] = match elements {
        [] => &[("", &Value::Null)],
        some => some,
    };
    for element in elements {
        let own = columns.iter().map(|column| column.cell(*element));
        let whole = whole.iter().map(|path| cell(at(answer, path)));
        file.write_record(own.chain(whole)).map_err(failed)?;
    }
    file.into_inner().map_err(|error| Problem::internal(&error))
}

/// The value at a path; null where there is none.
pub fn at<'a>(value: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(value, |value, name| {
        let found = match name.parse::<usize>() {
            Ok(place) => value.get(place),
            Err(_) => value.get(name),
        };
        found.unwrap_or(&Value::Null)
    })
}
