//! Query strings into a type: unknown and repeated parameters are refused, each problem is a 400.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::json;
use crate::error::{Code, FieldProblem, Problem};

/// Extractor of a query string. Every value is text: the type's fields are `String` or
/// `Option<String>`, or types that deserialise from text.
#[derive(Debug)]
pub struct Query<T>(pub T);

impl<T: DeserializeOwned> FromRequest for Query<T> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(parse(request.query_string()).map(Query))
    }
}

/// Parses a query string; every value arrives as text.
pub fn parse<T: DeserializeOwned>(query: &str) -> Result<T, Problem> {
    let mut members = Map::new();
    for (name, value) in url_pairs(query)? {
        if members.contains_key(&name) {
            let twice = FieldProblem::new(format!("?{name}"), Code::DuplicateField, value);
            return Err(bad(twice.allowed("the parameter once")));
        }
        members.insert(name, Value::String(value));
    }
    json::from_value(&Value::Object(members)).map_err(|mut error| {
        error.pointer = error.pointer.replacen('/', "?", 1);
        bad(error)
    })
}

/// A 400 for one parameter.
pub fn bad(error: FieldProblem) -> Problem {
    let detail = format!("The parameter {} is wrong: {}", error.pointer, error.detail);
    Problem {
        errors: vec![error],
        ..Problem::new(Code::BadQuery, detail)
    }
}

/// The one of some values that a parameter, which must be there, names.
///
/// # Errors
/// 400.
pub fn one_of(
    pointer: &str,
    given: Option<&str>,
    allowed: &[&'static str],
) -> Result<&'static str, Problem> {
    let list = allowed.join(", ");
    let Some(text) = given else {
        return Err(bad(FieldProblem::missing(pointer, list)));
    };
    let known = allowed.iter().find(|one| **one == text);
    known.copied().ok_or_else(|| {
        let given = json::shorten_text(text);
        bad(FieldProblem::new(pointer, Code::UnknownValue, given).allowed(list))
    })
}

/// A parameter that is `true` or `false`, and false where it is left out.
///
/// # Errors
/// 400.
pub fn truth(pointer: &str, given: Option<&str>) -> Result<bool, Problem> {
    match given {
        None | Some("false") => Ok(false),
        Some("true") => Ok(true),
        Some(other) => {
            let given = json::shorten_text(other);
            Err(bad(
                FieldProblem::new(pointer, Code::UnknownValue, given).allowed("true or false")
            ))
        }
    }
}

fn url_pairs(query: &str) -> Result<Vec<(String, String)>, Problem> {
    let pairs = actix_web::web::Query::<Vec<(String, String)>>::from_query(query);
    pairs.map(actix_web::web::Query::into_inner).map_err(|_| {
        Problem::new(
            Code::BadQuery,
            "The query string cannot be read as name=value pairs.",
        )
    })
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Range {
        from: String,
        to: Option<String>,
    }

    #[test]
    fn parameters_are_read_and_strange_ones_refused() {
        let range: Range = parse("from=2026-09-01").unwrap();
        assert_eq!((range.from.as_str(), range.to), ("2026-09-01", None));
        for (query, pointer, code) in [
            ("from=a&form=b", "?form", Code::UnknownField),
            ("from=a&from=b", "?from", Code::DuplicateField),
            ("to=b", "?from", Code::MissingField),
        ] {
            let problem = parse::<Range>(query).unwrap_err();
            assert_eq!(problem.code, Code::BadQuery);
            assert_eq!(
                (problem.errors[0].pointer.as_str(), problem.errors[0].code),
                (pointer, code)
            );
        }
    }
}
