//! Whether a resource is as a filter says (RFC 7644, section 3.4.2.2).

use jiff::Timestamp;
use serde_json::{Map, Value};

use super::attributes::{Attribute, Named, ResourceType, Type, holder};
use super::filter::{AttrPath, Filter, Operator};
use super::{Fault, Kind};

/// Refuses a filter that names what is not kept, or compares what cannot be compared.
///
/// # Errors
/// `Filter`.
pub fn check(filter: &Filter, kind: &ResourceType) -> Result<(), Fault> {
    match filter {
        Filter::And(one, other) | Filter::Or(one, other) => {
            check(one, kind)?;
            check(other, kind)
        }
        Filter::Not(filter) => check(filter, kind),
        Filter::Present(path) => attribute(path, kind).map(|_| ()),
        Filter::Compare(path, operator, value) => {
            let (attribute, part) = attribute(path, kind)?;
            comparable(path, part.unwrap_or(attribute), *operator, value)
        }
        Filter::Has(path, inner) => {
            let (attribute, _) = attribute(path, kind)?;
            match (attribute.many, &path.sub) {
                (true, None) => check_parts(inner, attribute),
                _ => Err(refused(path, "It does not have several values.")),
            }
        }
    }
}

/// The same for a filter about the values of one attribute.
///
/// # Errors
/// `Filter`.
pub fn check_parts(filter: &Filter, of: &Attribute) -> Result<(), Fault> {
    let part = |path: &AttrPath| match (&path.schema, &path.sub) {
        (None, None) => of.part(&path.name),
        _ => None,
    };
    let unknown = |path: &AttrPath| refused(path, format!("{} has no such part.", of.name));
    match filter {
        Filter::And(one, other) | Filter::Or(one, other) => {
            check_parts(one, of)?;
            check_parts(other, of)
        }
        Filter::Not(filter) => check_parts(filter, of),
        Filter::Present(path) => part(path).map(|_| ()).ok_or_else(|| unknown(path)),
        Filter::Compare(path, operator, value) => {
            let part = part(path).ok_or_else(|| unknown(path))?;
            comparable(path, part, *operator, value)
        }
        Filter::Has(path, _) => Err(unknown(path)),
    }
}

fn refused(path: &AttrPath, detail: impl Into<String>) -> Fault {
    Fault::new(Kind::Filter, path.to_string(), detail)
}

fn attribute(
    path: &AttrPath,
    kind: &ResourceType,
) -> Result<(&'static Attribute, Option<&'static Attribute>), Fault> {
    let attribute = match kind.named(path) {
        Some(Named::Attribute(attribute, _)) => attribute,
        Some(Named::NotKept) => return Err(refused(path, "It is not kept here.")),
        Some(Named::Extension) | None => {
            return Err(refused(
                path,
                format!("A {} has no such attribute.", kind.name),
            ));
        }
    };
    match &path.sub {
        None => Ok((attribute, attribute.part("value"))),
        Some(sub) => match attribute.part(sub) {
            Some(part) => Ok((attribute, Some(part))),
            None => Err(refused(
                path,
                format!("{} has no such part.", attribute.name),
            )),
        },
    }
}

fn comparable(
    path: &AttrPath,
    attribute: &Attribute,
    operator: Operator,
    value: &Value,
) -> Result<(), Fault> {
    let fits = match (attribute.kind, value) {
        (_, Value::Null) => matches!(operator, Operator::Eq | Operator::Ne),
        (Type::Boolean, Value::Bool(_)) => matches!(operator, Operator::Eq | Operator::Ne),
        (Type::Instant, Value::String(text)) => {
            !matches!(operator, Operator::Co | Operator::Sw | Operator::Ew)
                && instant(text).is_some()
        }
        (Type::Text | Type::Reference(_), Value::String(_)) => true,
        _ => false,
    };
    match fits {
        true => Ok(()),
        false => Err(refused(
            path,
            format!(
                "It cannot be compared by {} with that value.",
                operator.name()
            ),
        )),
    }
}

/// Whether a resource is as a filter says, which was checked.
pub fn matches(filter: &Filter, resource: &Map<String, Value>, kind: &ResourceType) -> bool {
    match filter {
        Filter::And(one, other) => matches(one, resource, kind) && matches(other, resource, kind),
        Filter::Or(one, other) => matches(one, resource, kind) || matches(other, resource, kind),
        Filter::Not(filter) => !matches(filter, resource, kind),
        Filter::Present(path) => !values(path, resource, kind).is_empty(),
        Filter::Compare(path, operator, wanted) => {
            let (_, part) = match attribute(path, kind) {
                Ok(found) => found,
                Err(_) => return false,
            };
            let named = kind.named(path);
            let Some(Named::Attribute(attribute, _)) = named else {
                return false;
            };
            any(
                &values(path, resource, kind),
                part.unwrap_or(attribute),
                *operator,
                wanted,
            )
        }
        Filter::Has(path, inner) => {
            let Some(Named::Attribute(attribute, in_extension)) = kind.named(path) else {
                return false;
            };
            let holder = holder(resource, kind, in_extension);
            let items = holder.and_then(|holder| holder.get(attribute.name)?.as_array());
            let mut items = items.into_iter().flatten().filter_map(Value::as_object);
            items.any(|item| matches_parts(inner, item, attribute))
        }
    }
}

/// Whether one of the values of an attribute is as a filter says, which was checked.
pub fn matches_parts(filter: &Filter, item: &Map<String, Value>, of: &Attribute) -> bool {
    match filter {
        Filter::And(one, other) => matches_parts(one, item, of) && matches_parts(other, item, of),
        Filter::Or(one, other) => matches_parts(one, item, of) || matches_parts(other, item, of),
        Filter::Not(filter) => !matches_parts(filter, item, of),
        Filter::Present(path) => of
            .part(&path.name)
            .is_some_and(|part| item.contains_key(part.name)),
        Filter::Compare(path, operator, wanted) => {
            let Some(part) = of.part(&path.name) else {
                return false;
            };
            let found: Vec<&Value> = item.get(part.name).into_iter().collect();
            any(&found, part, *operator, wanted)
        }
        Filter::Has(..) => false,
    }
}

/// The values that a path leads to: of several, each; of parts without a name, `value`.
fn values<'a>(
    path: &AttrPath,
    resource: &'a Map<String, Value>,
    kind: &ResourceType,
) -> Vec<&'a Value> {
    let Some(Named::Attribute(attribute, in_extension)) = kind.named(path) else {
        return Vec::new();
    };
    let holder = holder(resource, kind, in_extension);
    let Some(found) = holder.and_then(|holder| holder.get(attribute.name)) else {
        return Vec::new();
    };
    let items = match found {
        Value::Array(items) => items.iter().collect(),
        one => vec![one],
    };
    let part = path
        .sub
        .as_deref()
        .or(attribute.part("value").map(|_| "value"));
    let Some(part) = part.and_then(|part| attribute.part(part)) else {
        return items;
    };
    items
        .into_iter()
        .filter_map(|item| item.get(part.name))
        .collect()
}

/// Whether one of the values compares so; what has no value equals null and differs from everything else.
fn any(found: &[&Value], attribute: &Attribute, operator: Operator, wanted: &Value) -> bool {
    match operator {
        Operator::Ne => !any(found, attribute, Operator::Eq, wanted),
        Operator::Eq if wanted.is_null() => found.is_empty(),
        _ => found
            .iter()
            .any(|value| compares(value, attribute, operator, wanted)),
    }
}

fn compares(value: &Value, attribute: &Attribute, operator: Operator, wanted: &Value) -> bool {
    let (Value::String(value), Value::String(wanted)) = (value, wanted) else {
        return operator == Operator::Eq && value == wanted;
    };
    if matches!(attribute.kind, Type::Instant) {
        return match (instant(value), instant(wanted)) {
            (Some(value), Some(wanted)) => in_order(&value, operator, &wanted),
            _ => false,
        };
    }
    let (value, wanted) = match attribute.case_exact {
        true => (value.clone(), wanted.clone()),
        false => (value.to_lowercase(), wanted.to_lowercase()),
    };
    match operator {
        Operator::Co => value.contains(&wanted),
        Operator::Sw => value.starts_with(&wanted),
        Operator::Ew => value.ends_with(&wanted),
        _ => in_order(&value, operator, &wanted),
    }
}

fn in_order<T: Ord>(value: &T, operator: Operator, wanted: &T) -> bool {
    match operator {
        Operator::Eq => value == wanted,
        Operator::Gt => value > wanted,
        Operator::Ge => value >= wanted,
        Operator::Lt => value < wanted,
        Operator::Le => value <= wanted,
        Operator::Ne | Operator::Co | Operator::Sw | Operator::Ew => false,
    }
}

fn instant(text: &str) -> Option<Timestamp> {
    text.parse().ok()
}
