//! What a client sends, in the names and types of the schema: attribute names are alike in any case (RFC 7643, section 2.1), what is
//! not kept or not the client's to set is read over, and what no schema has is refused.

use serde_json::{Map, Value};

use super::attributes::{Attribute, ResourceType, Schema, Type};
use super::filter::AttrPath;
use super::{Fault, Kind};

/// Parts of several values that RFC 7643, section 2.4, lets any of them have and that are not kept here.
const NOT_KEPT_PARTS: [&str; 4] = ["display", "type", "primary", "$ref"];

/// A whole resource as it is sent.
///
/// # Errors
/// `Syntax` for what no schema has, `Value` for a value of another type.
pub fn resource(
    sent: &Map<String, Value>,
    kind: &ResourceType,
) -> Result<Map<String, Value>, Fault> {
    let mut found = Map::new();
    for (name, value) in sent {
        if name.eq_ignore_ascii_case("schemas") {
            schemas(value, kind)?;
        } else if let Some(extension) = kind
            .extension
            .filter(|schema| schema.id.eq_ignore_ascii_case(name))
        {
            let parts = object(extension.id, value)?;
            let parts = of_extension(parts, extension)?;
            put(&mut found, extension.id, Value::Object(parts));
        } else if let Some(attribute) = kind.own(name) {
            if attribute.is_writable() {
                let value = self::value(attribute, value)?;
                if found.contains_key(attribute.name) {
                    return Err(twice(attribute.name));
                }
                put(&mut found, attribute.name, value);
            }
        } else if !kind.is_not_kept(name) {
            return Err(unknown(name));
        }
    }
    Ok(found)
}

fn of_extension(sent: &Map<String, Value>, schema: &Schema) -> Result<Map<String, Value>, Fault> {
    let mut found = Map::new();
    for (name, value) in sent {
        // Some clients list the schema once more within it.
        if name.eq_ignore_ascii_case("schemas") {
            continue;
        }
        let mut attributes = schema.attributes.iter();
        let attribute = attributes.find(|one| one.name.eq_ignore_ascii_case(name));
        let attribute = attribute.ok_or_else(|| unknown(&format!("{}:{name}", schema.id)))?;
        let value = self::value(attribute, value)?;
        if found.contains_key(attribute.name) {
            return Err(twice(attribute.name));
        }
        put(&mut found, attribute.name, value);
    }
    Ok(found)
}

/// An extension as it is sent.
///
/// # Errors
/// As [`resource`].
pub fn extension(sent: &Value, schema: &Schema) -> Result<Map<String, Value>, Fault> {
    of_extension(object(schema.id, sent)?, schema)
}

/// Null and an empty list say that there is no value (RFC 7643, section 2.5), which is told from saying nothing.
fn put(into: &mut Map<String, Value>, name: &str, value: Value) {
    let is_empty = value.as_array().is_some_and(Vec::is_empty);
    let value = if is_empty { Value::Null } else { value };
    into.insert(name.to_owned(), value);
}

fn schemas(sent: &Value, kind: &ResourceType) -> Result<(), Fault> {
    let list = sent.as_array().map(Vec::as_slice).unwrap_or_default();
    let mut texts = list.iter().map(Value::as_str);
    let is_core =
        |text: Option<&str>| text.is_some_and(|text| text.eq_ignore_ascii_case(kind.schema.id));
    match !list.is_empty() && list.iter().all(Value::is_string) && texts.any(is_core) {
        true => Ok(()),
        false => Err(Fault::new(
            Kind::Syntax,
            "schemas",
            format!("It is a list with {} in it.", kind.schema.id),
        )),
    }
}

/// The value of an attribute; of several, the list of them, where one alone is as good.
///
/// # Errors
/// `Value` for another type, `Syntax` for a part that the attribute does not have.
pub fn value(attribute: &Attribute, sent: &Value) -> Result<Value, Fault> {
    match sent {
        Value::Null => Ok(Value::Null),
        Value::Array(items) if attribute.many => {
            let items = items.iter().map(|item| single(attribute, item));
            Ok(Value::Array(distinct(items.collect::<Result<_, _>>()?)))
        }
        one if attribute.many => Ok(Value::Array(vec![single(attribute, one)?])),
        one => single(attribute, one),
    }
}

/// Each value once.
pub fn distinct(items: Vec<Value>) -> Vec<Value> {
    let mut seen = std::collections::HashSet::new();
    let mut items = items;
    items.retain(|item| seen.insert(item.to_string()));
    items
}

/// One value of an attribute.
///
/// # Errors
/// As [`value`].
pub fn single(attribute: &Attribute, sent: &Value) -> Result<Value, Fault> {
    let wrong = |what: &str| {
        let detail = format!("{} is {what}.", attribute.name);
        Err(Fault::new(Kind::Value, attribute.name, detail))
    };
    match (attribute.kind, sent) {
        (Type::Text | Type::Instant | Type::Reference(_), Value::String(_))
        | (Type::Boolean, Value::Bool(_)) => Ok(sent.clone()),
        // Some directories write them as texts.
        (Type::Boolean, Value::String(text)) if text.eq_ignore_ascii_case("true") => {
            Ok(true.into())
        }
        (Type::Boolean, Value::String(text)) if text.eq_ignore_ascii_case("false") => {
            Ok(false.into())
        }
        (Type::Complex(_), Value::Object(parts)) => parts_of(attribute, parts),
        (Type::Complex(_), Value::String(_)) if attribute.many => {
            let parts = Map::from_iter([("value".to_owned(), sent.clone())]);
            parts_of(attribute, &parts)
        }
        (Type::Text | Type::Instant | Type::Reference(_), _) => wrong("a text"),
        (Type::Boolean, _) => wrong("true or false"),
        (Type::Complex(_), _) => wrong("an object"),
    }
}

/// Of several values, only `value` is the client's to say: the rest follows from it.
fn parts_of(attribute: &Attribute, sent: &Map<String, Value>) -> Result<Value, Fault> {
    let mut found = Map::new();
    for (name, value) in sent {
        let is_known = NOT_KEPT_PARTS
            .iter()
            .any(|known| known.eq_ignore_ascii_case(name));
        match attribute.part(name) {
            Some(part) if part.name == "value" => put(&mut found, part.name, single(part, value)?),
            Some(_) => {}
            None if is_known => {}
            None => return Err(unknown(&format!("{}.{name}", attribute.name))),
        }
    }
    match found.get("value").is_some_and(Value::is_string) {
        true => Ok(Value::Object(found)),
        false => Err(Fault::new(
            Kind::Value,
            format!("{}.value", attribute.name),
            "The value is missing.",
        )),
    }
}

fn object<'a>(name: &str, sent: &'a Value) -> Result<&'a Map<String, Value>, Fault> {
    let wrong = || Fault::new(Kind::Value, name, format!("{name} is an object."));
    match sent {
        Value::Object(parts) => Ok(parts),
        _ => Err(wrong()),
    }
}

fn unknown(name: &str) -> Fault {
    let given: String = name.chars().take(100).collect();
    Fault::new(
        Kind::Syntax,
        given,
        "No schema of the resource has such an attribute.",
    )
}

fn twice(name: &str) -> Fault {
    Fault::new(Kind::Syntax, name, "It is there twice.")
}

/// The name of a path for a refusal.
pub fn no_such(path: &AttrPath) -> Fault {
    Fault::new(
        Kind::Path,
        path.to_string(),
        "No schema of the resource has such an attribute.",
    )
}
