//! The body of a search (RFC 7644, section 3.4.3).

use serde_json::{Map, Value};

use super::patch::require_schema;
use super::projection::Projection;
use super::{Fault, Kind, SEARCH};

/// What a search asks for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Search {
    /// Which resources.
    pub filter: Option<String>,
    /// What of each is shown.
    pub projection: Projection,
    /// The number of the first, from 1.
    pub start: Option<i64>,
    /// How many at most.
    pub count: Option<i64>,
}

/// Reads a search. Sorting is not supported, and refused like anything else that is not known.
///
/// # Errors
/// `Syntax` for what a search does not have, `Value` for values of another type.
pub fn read(body: &Map<String, Value>) -> Result<Search, Fault> {
    let mut search = Search::default();
    let (mut attributes, mut excluded) = (Vec::new(), Vec::new());
    for (name, value) in body {
        match name.to_ascii_lowercase().as_str() {
            "schemas" => require_schema(value, SEARCH)?,
            "filter" => search.filter = text(name, value)?,
            "startindex" => search.start = number(name, value)?,
            "count" => search.count = number(name, value)?,
            "attributes" => attributes = texts(name, value)?,
            "excludedattributes" => excluded = texts(name, value)?,
            _ => {
                return Err(Fault::new(
                    Kind::Syntax,
                    name,
                    "A search has no such attribute here.",
                ));
            }
        }
    }
    search.projection = Projection::of(attributes, excluded)?;
    Ok(search)
}

fn text(name: &str, value: &Value) -> Result<Option<String>, Fault> {
    match value {
        Value::Null => Ok(None),
        Value::String(text) => Ok(Some(text.clone())),
        _ => Err(Fault::new(Kind::Value, name, "It is a text.")),
    }
}

fn number(name: &str, value: &Value) -> Result<Option<i64>, Fault> {
    match (value, value.as_i64()) {
        (Value::Null, _) => Ok(None),
        (_, Some(number)) => Ok(Some(number)),
        _ => Err(Fault::new(Kind::Value, name, "It is a whole number.")),
    }
}

fn texts(name: &str, value: &Value) -> Result<Vec<String>, Fault> {
    let wrong = || Fault::new(Kind::Value, name, "It is a list of names.");
    let items = match value {
        Value::Null => return Ok(Vec::new()),
        value => value.as_array().ok_or_else(wrong)?,
    };
    let texts = items.iter().map(|item| item.as_str().map(str::to_owned));
    texts.collect::<Option<_>>().ok_or_else(wrong)
}
