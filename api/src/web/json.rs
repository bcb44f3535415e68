//! JSON into a type, with problems that name the field.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::object::{Object, Unambiguous};
use crate::error::{Code, FieldProblem, Problem};

/// Reads a JSON document that is one object. Unreadable text is a 400; a wrong, unknown or repeated
/// field is a 422 with its pointer.
pub fn from_slice<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Problem> {
    read(bytes).map_err(|fault| match fault {
        Fault::Unreadable(error) => not_json(&error),
        Fault::Field(field) => Problem::field(field),
    })
}

/// Reads one object of many, such as a line of a stream: unreadable text is a fault of its own.
pub fn row_from_slice<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, FieldProblem> {
    read(bytes).map_err(|fault| match fault {
        Fault::Unreadable(error) => FieldProblem::new(
            "",
            Code::NotJson,
            shorten_text(&String::from_utf8_lossy(bytes)),
        )
        .detail(not_json(&error).detail)
        .allowed("one JSON object"),
        Fault::Field(field) => field,
    })
}

/// Reads a JSON object that was already parsed, such as a line of a table.
pub fn from_value<T: DeserializeOwned>(value: &Value) -> Result<T, FieldProblem> {
    let read = serde_path_to_error::deserialize::<_, Object<T>>(value);
    read.map(|object| object.0)
        .map_err(|error| field_problem(&error, value))
}

enum Fault {
    Unreadable(serde_json::Error),
    Field(FieldProblem),
}

fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Fault> {
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    match serde_path_to_error::deserialize::<_, Object<T>>(&mut reader) {
        Ok(Object(value)) => match reader.end() {
            Ok(()) => Ok(value),
            Err(error) => Err(Fault::Unreadable(error)),
        },
        Err(error) if error.inner().is_data() => {
            // The struct refused it; whether the rest is JSON at all decides between 400 and 422,
            // and a name that is there twice is the first thing to say.
            let document: Value = serde_json::from_slice(bytes).map_err(Fault::Unreadable)?;
            let mut whole = serde_json::Deserializer::from_slice(bytes);
            let twice = serde_path_to_error::deserialize::<_, Unambiguous>(&mut whole).err();
            Err(Fault::Field(field_problem(
                &twice.unwrap_or(error),
                &document,
            )))
        }
        Err(error) => Err(Fault::Unreadable(error.into_inner())),
    }
}

fn not_json(error: &serde_json::Error) -> Problem {
    Problem::new(
        Code::NotJson,
        format!(
            "Not readable as JSON at line {}, column {}.",
            error.line(),
            error.column()
        ),
    )
}

/// Turns serde's refusal into a field problem. Serde names unknown, repeated and missing fields
/// in its message only, in a wording that is part of its tests.
fn field_problem(
    error: &serde_path_to_error::Error<serde_json::Error>,
    document: &Value,
) -> FieldProblem {
    let message = error.inner().to_string();
    let message = message.split(" at line ").next().unwrap_or_default();
    let pointer = pointer(error.path());
    let quoted = message.split('`').nth(1).unwrap_or_default();
    if message.starts_with("unknown field") {
        let pointer = child(&pointer, quoted);
        let given = document.pointer(&pointer).cloned().unwrap_or_default();
        let known: Vec<&str> = message.split('`').skip(3).step_by(2).collect();
        return FieldProblem::new(pointer, Code::UnknownField, shorten(given))
            .detail(format!("There is no field {}.", shorten_text(quoted)))
            .allowed(known.join(", "));
    }
    if message.starts_with("duplicate field") {
        let pointer = child(&pointer, quoted);
        let given = document.pointer(&pointer).cloned().unwrap_or_default();
        return FieldProblem::new(pointer, Code::DuplicateField, shorten(given))
            .allowed("the field once");
    }
    if message.starts_with("missing field") {
        return FieldProblem::missing(child(&pointer, quoted), "a value")
            .detail(format!("The field {quoted} is required."));
    }
    let given = document.pointer(&pointer).cloned().unwrap_or_default();
    if message.starts_with("unknown variant") {
        let known: Vec<&str> = message.split('`').skip(3).step_by(2).collect();
        return FieldProblem::new(pointer, Code::UnknownValue, shorten(given))
            .allowed(known.join(", "));
    }
    let expected = message
        .rsplit("expected ")
        .next()
        .unwrap_or(message)
        .to_owned();
    FieldProblem::new(pointer, Code::WrongType, shorten(given)).allowed(expected)
}

/// An RFC 6901 pointer from serde's path.
fn pointer(path: &serde_path_to_error::Path) -> String {
    use serde_path_to_error::Segment;
    path.iter()
        .fold(String::new(), |pointer, segment| match segment {
            Segment::Seq { index } => child(&pointer, &index.to_string()),
            Segment::Map { key } => child(&pointer, key),
            Segment::Enum { variant } => child(&pointer, variant),
            Segment::Unknown => pointer,
        })
}

/// The pointer to a member, with RFC 6901's two escapes. Serde's path may already end in the
/// member it stumbled over; it is not added twice.
fn child(pointer: &str, name: &str) -> String {
    let escaped = name.replace('~', "~0").replace('/', "~1");
    if pointer.rsplit('/').next() == Some(escaped.as_str()) && !escaped.is_empty() {
        return pointer.to_owned();
    }
    format!("{pointer}/{escaped}")
}

/// Long values are not repeated to the sender in full.
fn shorten(value: Value) -> Value {
    match value {
        Value::String(text) => Value::String(shorten_text(&text)),
        Value::Array(_) => Value::String("a list".to_owned()),
        Value::Object(_) => Value::String("an object".to_owned()),
        other => other,
    }
}

/// At most 80 characters of a text.
pub fn shorten_text(text: &str) -> String {
    match text.char_indices().nth(80) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::json;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Outer {
        #[allow(dead_code)]
        name: String,
        #[serde(default)]
        #[allow(dead_code)]
        inner: Vec<Inner>,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        #[allow(dead_code)]
        count: i64,
    }

    fn refused(body: &str) -> FieldProblem {
        let problem = from_slice::<Outer>(body.as_bytes()).unwrap_err();
        assert_eq!(problem.code, Code::Invalid, "{problem}");
        problem.errors.into_iter().next().unwrap()
    }

    #[test]
    fn an_unknown_field_is_named_with_its_pointer() {
        let error = refused(r#"{"name":"a","nmae":"b"}"#);
        assert_eq!(
            (error.pointer.as_str(), error.code),
            ("/nmae", Code::UnknownField)
        );
        assert_eq!(error.given, Some(json!("b")));
        assert_eq!(error.allowed.as_deref(), Some("name, inner"));
        let nested = refused(r#"{"name":"a","inner":[{"count":1},{"count":1,"x":2}]}"#);
        assert_eq!(nested.pointer, "/inner/1/x");
    }

    #[test]
    fn a_wrong_type_says_what_was_expected() {
        let error = refused(r#"{"name":"a","inner":[{"count":"seven"}]}"#);
        assert_eq!(
            (error.pointer.as_str(), error.code),
            ("/inner/0/count", Code::WrongType)
        );
        assert_eq!(error.given, Some(json!("seven")));
        assert_eq!(error.allowed.as_deref(), Some("i64"));
    }

    #[test]
    fn missing_and_repeated_fields_are_named() {
        let missing = refused("{}");
        assert_eq!(
            (missing.pointer.as_str(), missing.code),
            ("/name", Code::MissingField)
        );
        let twice = refused(r#"{"name":"a","name":"b"}"#);
        assert_eq!(
            (twice.pointer.as_str(), twice.code),
            ("/name", Code::DuplicateField)
        );
    }

    #[test]
    fn what_is_not_json_is_a_400() {
        for body in [
            "",
            "{",
            "nonsense",
            "{\"name\":\"a\"} x",
            "{\"name\":NaN}",
            "{\"name\":1e999}",
        ] {
            let problem = from_slice::<Outer>(body.as_bytes()).unwrap_err();
            assert_eq!(problem.code, Code::NotJson, "{body}");
        }
        let deep = format!("{{\"name\":{}", "[".repeat(100_000));
        assert_eq!(
            from_slice::<Outer>(deep.as_bytes()).unwrap_err().code,
            Code::NotJson
        );
        assert_eq!(
            from_slice::<Outer>(b"\xff\xfe").unwrap_err().code,
            Code::NotJson
        );
    }

    #[test]
    fn a_field_name_with_a_slash_is_escaped() {
        assert_eq!(refused(r#"{"name":"a","b/c":1}"#).pointer, "/b~1c");
    }
}
