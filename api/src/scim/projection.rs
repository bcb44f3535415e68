//! Which attributes of a resource are in an answer: `attributes` and `excludedAttributes` (RFC 7644, section 3.9).

use serde_json::{Map, Value};

use super::attributes::{Attribute, Named, ResourceType, Returned};
use super::filter::AttrPath;
use super::{Fault, Kind, parse};

/// Most names of one list.
const MOST_NAMES: usize = 50;

/// What a client wants to see.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Projection {
    /// Everything that is returned by default.
    #[default]
    Usual,
    /// These, and what is always returned.
    Only(Vec<AttrPath>),
    /// All but these.
    Without(Vec<AttrPath>),
}

impl Projection {
    /// Reads the two lists, each of names with commas between; only one may be given.
    ///
    /// # Errors
    /// `Value`.
    pub fn read(attributes: Option<&str>, excluded: Option<&str>) -> Result<Self, Fault> {
        let names = |text: &str| -> Vec<String> {
            let names = text.split(',').filter(|name| !name.trim().is_empty());
            names.map(str::to_owned).collect()
        };
        let (attributes, excluded) = (attributes.map(names), excluded.map(names));
        Self::of(attributes.unwrap_or_default(), excluded.unwrap_or_default())
    }

    /// The same of lists that come as lists.
    ///
    /// # Errors
    /// `Value`.
    pub fn of(attributes: Vec<String>, excluded: Vec<String>) -> Result<Self, Fault> {
        let read = |names: Vec<String>| match names.len() > MOST_NAMES {
            true => Err(Fault::new(
                Kind::Value,
                "attributes",
                format!("At most {MOST_NAMES} names."),
            )),
            false => names.iter().map(|name| parse::attribute(name)).collect(),
        };
        match (attributes.is_empty(), excluded.is_empty()) {
            (true, true) => Ok(Self::Usual),
            (false, true) => read(attributes).map(Self::Only),
            (true, false) => read(excluded).map(Self::Without),
            (false, false) => Err(Fault::new(
                Kind::Value,
                "excludedAttributes",
                "Of attributes and excludedAttributes only one may be there.",
            )),
        }
    }

    /// Whether an attribute of the schema, or of every resource, is in the answer.
    pub fn shows(&self, kind: &ResourceType, name: &str) -> bool {
        match (self, kind.own(name)) {
            (_, None) => true,
            (Self::Usual, _) => true,
            (Self::Only(paths), Some(attribute)) => paths
                .iter()
                .any(|path| is_about(kind, path, attribute, false)),
            (Self::Without(paths), Some(attribute)) => {
                let whole = |path: &&AttrPath| path.sub.is_none();
                !paths
                    .iter()
                    .filter(whole)
                    .any(|path| is_about(kind, path, attribute, false))
            }
        }
    }

    /// The resource as it is answered.
    pub fn apply(&self, kind: &ResourceType, resource: Map<String, Value>) -> Map<String, Value> {
        if *self == Self::Usual {
            return resource;
        }
        let mut shown = Map::new();
        for (name, value) in resource {
            let value = match (kind.extension, kind.own(&name), value) {
                (Some(schema), None, Value::Object(parts)) if schema.id == name => {
                    self.extension(kind, schema.attributes, parts)
                }
                (_, Some(attribute), value) => self.part(kind, attribute, value, false),
                (_, None, value) => Some(value),
            };
            value.map(|value| shown.insert(name, value));
        }
        shown
    }

    fn extension(
        &self,
        kind: &ResourceType,
        attributes: &[Attribute],
        parts: Map<String, Value>,
    ) -> Option<Value> {
        let whole = |path: &AttrPath| matches!(kind.named(path), Some(Named::Extension));
        match self {
            Self::Only(paths) if paths.iter().any(whole) => return Some(parts.into()),
            Self::Without(paths) if paths.iter().any(whole) => return None,
            _ => {}
        }
        let shown = parts.into_iter().filter_map(|(name, value)| {
            let attribute = attributes.iter().find(|one| one.name == name)?;
            Some((name, self.part(kind, attribute, value, true)?))
        });
        let shown: Map<String, Value> = shown.collect();
        (!shown.is_empty()).then_some(shown.into())
    }

    /// What of one attribute is shown.
    fn part(
        &self,
        kind: &ResourceType,
        attribute: &Attribute,
        value: Value,
        in_extension: bool,
    ) -> Option<Value> {
        let about = |paths: &[AttrPath]| -> Vec<AttrPath> {
            let about = paths
                .iter()
                .filter(|path| is_about(kind, path, attribute, in_extension));
            about.cloned().collect()
        };
        match self {
            _ if attribute.returned == Returned::Always => Some(value),
            Self::Usual => Some(value),
            Self::Only(paths) => {
                let about = about(paths);
                match about.is_empty() {
                    true => None,
                    false if about.iter().any(|path| path.sub.is_none()) => Some(value),
                    false => Some(of_parts(value, |name| {
                        about.iter().any(|path| is_sub(path, name))
                    })),
                }
            }
            Self::Without(paths) => {
                let about = about(paths);
                match about.iter().any(|path| path.sub.is_none()) {
                    true => None,
                    false => Some(of_parts(value, |name| {
                        !about.iter().any(|path| is_sub(path, name))
                    })),
                }
            }
        }
    }
}

fn is_about(
    kind: &ResourceType,
    path: &AttrPath,
    attribute: &Attribute,
    in_extension: bool,
) -> bool {
    matches!(kind.named(path), Some(Named::Attribute(named, inside)) if named.name == attribute.name && inside == in_extension)
}

fn is_sub(path: &AttrPath, name: &str) -> bool {
    path.sub
        .as_deref()
        .is_some_and(|sub| sub.eq_ignore_ascii_case(name))
}

fn of_parts(value: Value, shows: impl Fn(&str) -> bool + Copy) -> Value {
    match value {
        Value::Array(items) => items
            .into_iter()
            .map(|item| of_parts(item, shows))
            .collect(),
        Value::Object(parts) => parts.into_iter().filter(|(name, _)| shows(name)).collect(),
        other => other,
    }
}
