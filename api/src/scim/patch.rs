//! Patches of a resource (RFC 7644, section 3.5.2), applied to what of it the client may set.

use serde_json::{Map, Value};

use super::attributes::{Attribute, Named, ResourceType, Type};
use super::filter::{Filter, Path};
use super::{Fault, Kind, PATCH, canonical, matching, parse};

/// Most operations of one patch.
pub const MOST_OPERATIONS: usize = 100;

/// What an operation does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Adds a value, or puts one where there is one value at most.
    Add,
    /// Puts a value in the place of what is there.
    Replace,
    /// Takes values away.
    Remove,
}

impl Doing {
    /// By its name, which some directories write with a capital.
    pub fn parse(name: &str) -> Option<Self> {
        match name.to_ascii_lowercase().as_str() {
            "add" => Some(Self::Add),
            "replace" => Some(Self::Replace),
            "remove" => Some(Self::Remove),
            _ => None,
        }
    }
}

/// One operation.
#[derive(Debug, Clone)]
pub struct Operation {
    /// What it does.
    pub doing: Doing,
    /// Where.
    pub path: Option<String>,
    /// With what.
    pub value: Option<Value>,
}

/// Reads the body of a patch. Names are alike in any case.
///
/// # Errors
/// `Syntax` where it is none, `Value` for a value of another type.
pub fn operations(body: &Map<String, Value>) -> Result<Vec<Operation>, Fault> {
    let not_of_schema =
        |name: &str| Fault::new(Kind::Syntax, name, "A patch has no such attribute.");
    let mut sent = None;
    for (name, value) in body {
        match name.to_ascii_lowercase().as_str() {
            "schemas" => require_schema(value, PATCH)?,
            "operations" => sent = value.as_array(),
            _ => return Err(not_of_schema(name)),
        }
    }
    let list = || Fault::new(Kind::Syntax, "Operations", "It is a list of operations.");
    let operations = sent.ok_or_else(list)?.iter().map(|operation| {
        let (mut doing, mut path, mut value) = (None, None, None);
        for (name, given) in operation.as_object().ok_or_else(list)? {
            match (name.to_ascii_lowercase().as_str(), given) {
                ("op", Value::String(name)) => doing = Doing::parse(name),
                ("path", Value::String(text)) => path = Some(text.clone()),
                ("path", Value::Null) => {}
                ("value", given) => value = Some(given.clone()),
                ("op" | "path", _) => return Err(Fault::new(Kind::Syntax, name, "It is a text.")),
                _ => return Err(not_of_schema(name)),
            }
        }
        let doing =
            doing.ok_or_else(|| Fault::new(Kind::Syntax, "op", "It is add, replace or remove."))?;
        Ok(Operation { doing, path, value })
    });
    operations.collect()
}

/// Refuses a list of schemas without the one that is due.
///
/// # Errors
/// `Syntax`.
pub fn require_schema(given: &Value, due: &str) -> Result<(), Fault> {
    let list = given.as_array().into_iter().flatten();
    let mut texts = list.filter_map(Value::as_str);
    match texts.any(|text| text.eq_ignore_ascii_case(due)) {
        true => Ok(()),
        false => Err(Fault::new(
            Kind::Syntax,
            "schemas",
            format!("It is a list with {due} in it."),
        )),
    }
}

/// Applies operations one after the other to a resource in the names and types of its schema, without what only the service sets.
///
/// # Errors
/// The first operation that cannot be applied; the resource is then half changed and of no use.
pub fn apply(
    resource: &mut Map<String, Value>,
    kind: &'static ResourceType,
    operations: &[Operation],
) -> Result<(), Fault> {
    if operations.is_empty() || operations.len() > MOST_OPERATIONS {
        let detail = format!("A patch has 1 to {MOST_OPERATIONS} operations.");
        return Err(Fault::new(Kind::Syntax, "Operations", detail));
    }
    let mut patching = Patching { resource, kind };
    operations.iter().try_for_each(|one| patching.apply(one))
}

struct Patching<'a> {
    resource: &'a mut Map<String, Value>,
    kind: &'static ResourceType,
}

impl Patching<'_> {
    fn apply(&mut self, operation: &Operation) -> Result<(), Fault> {
        match (&operation.path, operation.doing) {
            (Some(path), doing) => {
                let path = parse::path(path)?;
                self.at(&path, doing, operation.value.as_ref())
            }
            (None, Doing::Remove) => Err(Fault::new(
                Kind::Target,
                "path",
                "A removal says what it takes away.",
            )),
            (None, doing) => self.several(doing, operation.value.as_ref()),
        }
    }

    /// Without a path the value has attributes; their names may be paths themselves.
    fn several(&mut self, doing: Doing, value: Option<&Value>) -> Result<(), Fault> {
        let Some(Value::Object(sent)) = value else {
            return Err(Fault::new(
                Kind::Value,
                "value",
                "Without a path the value is an object of attributes.",
            ));
        };
        for (name, value) in sent {
            if name.eq_ignore_ascii_case("schemas") {
                continue;
            }
            let path = parse::path(name).map_err(|fault| Fault {
                kind: Kind::Syntax,
                ..fault
            })?;
            if let Some(Named::Attribute(attribute, _)) = self.kind.named(&path.attribute)
                && !attribute.is_writable()
            {
                continue;
            }
            self.at(&path, doing, Some(value))?;
        }
        Ok(())
    }

    fn at(&mut self, path: &Path, doing: Doing, value: Option<&Value>) -> Result<(), Fault> {
        let value = || {
            let missing =
                || Fault::new(Kind::Value, path.to_string(), "The operation has no value.");
            value.ok_or_else(missing)
        };
        match self.kind.named(&path.attribute) {
            None => Err(canonical::no_such(&path.attribute)),
            Some(Named::NotKept) => Ok(()),
            Some(Named::Extension) if doing == Doing::Remove => {
                self.kind
                    .extension
                    .map(|schema| self.resource.remove(schema.id));
                Ok(())
            }
            Some(Named::Extension) => self.extension(value()?),
            Some(Named::Attribute(attribute, in_extension)) => {
                if !attribute.is_writable() {
                    let detail = "It is the service's to set.";
                    return Err(Fault::new(Kind::Mutability, attribute.name, detail));
                }
                let sent = match doing {
                    Doing::Remove => value().ok(),
                    _ => Some(value()?),
                };
                let target = Target { attribute, path };
                let found = target.changed(self.current(attribute, in_extension), doing, sent)?;
                self.put(attribute, in_extension, found);
                Ok(())
            }
        }
    }

    /// Takes over what an extension says, whole.
    fn extension(&mut self, sent: &Value) -> Result<(), Fault> {
        let Some(schema) = self.kind.extension else {
            return Ok(());
        };
        for (name, value) in canonical::extension(sent, schema)? {
            if let Some(attribute) = schema.attributes.iter().find(|one| one.name == name) {
                self.put(attribute, true, Some(value));
            }
        }
        Ok(())
    }

    fn current(&self, attribute: &Attribute, in_extension: bool) -> Option<Value> {
        let holder = super::attributes::holder(self.resource, self.kind, in_extension)?;
        holder.get(attribute.name).cloned()
    }

    fn put(&mut self, attribute: &Attribute, in_extension: bool, value: Option<Value>) {
        let value = value.filter(|value| {
            !value.is_null() && value.as_array().is_none_or(|list| !list.is_empty())
        });
        let holder = match self.kind.extension.filter(|_| in_extension) {
            None => &mut *self.resource,
            Some(schema) => {
                let extension = self
                    .resource
                    .entry(schema.id)
                    .or_insert_with(|| Map::new().into());
                match extension.as_object_mut() {
                    Some(extension) => extension,
                    None => return,
                }
            }
        };
        match value {
            Some(value) => holder.insert(attribute.name.to_owned(), value),
            None => holder.remove(attribute.name),
        };
    }
}

/// One attribute, and which of its values are meant.
struct Target<'a> {
    attribute: &'static Attribute,
    path: &'a Path,
}

impl Target<'_> {
    /// What becomes of the value that is there.
    fn changed(
        &self,
        before: Option<Value>,
        doing: Doing,
        sent: Option<&Value>,
    ) -> Result<Option<Value>, Fault> {
        if let Some(part) = self.path.part() {
            self.require_part(part)?;
        }
        match (&self.path.filter, self.attribute.many) {
            (Some(_), false) => Err(self.fault(Kind::Path, "It does not have several values.")),
            (Some(filter), true) => {
                matching::check_parts(filter, self.attribute)?;
                self.picked(filter, items(before), doing, sent)
                    .map(|items| Some(Value::Array(items)))
            }
            (None, false) => match (doing, sent) {
                (Doing::Remove, _) => Ok(None),
                (_, Some(sent)) => canonical::value(self.attribute, sent).map(Some),
                (_, None) => Ok(before),
            },
            (None, true) => self
                .list(items(before), doing, sent)
                .map(|items| Some(Value::Array(items))),
        }
    }

    fn fault(&self, kind: Kind, detail: &str) -> Fault {
        Fault::new(kind, self.path.to_string(), detail)
    }

    /// `value` is the part of several values that can be set; the rest follows from it.
    fn require_part(&self, part: &str) -> Result<(), Fault> {
        match (self.attribute.kind, self.attribute.part(part)) {
            (Type::Complex(_), Some(part)) if part.name == "value" => Ok(()),
            (Type::Complex(_), Some(_)) => {
                Err(self.fault(Kind::Mutability, "It follows from the value."))
            }
            _ => Err(self.fault(Kind::Path, "The attribute has no such part.")),
        }
    }

    /// All values of a list.
    fn list(
        &self,
        mut before: Vec<Value>,
        doing: Doing,
        sent: Option<&Value>,
    ) -> Result<Vec<Value>, Fault> {
        let sent = match sent {
            None | Some(Value::Null) => None,
            Some(sent) => Some(items(Some(canonical::value(self.attribute, sent)?))),
        };
        match (doing, sent) {
            (Doing::Replace, sent) => Ok(sent.unwrap_or_default()),
            (Doing::Add, sent) => {
                before.extend(sent.unwrap_or_default());
                Ok(canonical::distinct(before))
            }
            // Some directories name those to be taken away as the value.
            (Doing::Remove, Some(sent)) => {
                let gone: std::collections::HashSet<String> =
                    sent.iter().map(Value::to_string).collect();
                before.retain(|item| !gone.contains(&item.to_string()));
                Ok(before)
            }
            (Doing::Remove, None) => Ok(Vec::new()),
        }
    }

    /// Those of several values that a filter picks. Taking away what is not there is done already; elsewhere the filter has to
    /// pick something (RFC 7644, section 3.5.2.3).
    fn picked(
        &self,
        filter: &Filter,
        mut before: Vec<Value>,
        doing: Doing,
        sent: Option<&Value>,
    ) -> Result<Vec<Value>, Fault> {
        let picks = |item: &Value| {
            let parts = item.as_object();
            parts.is_some_and(|parts| matching::matches_parts(filter, parts, self.attribute))
        };
        if doing == Doing::Remove {
            before.retain(|item| !picks(item));
            return Ok(before);
        }
        if !before.iter().any(picks) {
            return Err(self.fault(Kind::Target, "The filter picks none of the values."));
        }
        let sent = canonical::single(self.attribute, sent.unwrap_or(&Value::Null))?;
        for item in before.iter_mut().filter(|item| picks(item)) {
            item.clone_from(&sent);
        }
        Ok(canonical::distinct(before))
    }
}

fn items(value: Option<Value>) -> Vec<Value> {
    match value {
        Some(Value::Array(items)) => items,
        Some(Value::Null) | None => Vec::new(),
        Some(one) => vec![one],
    }
}

#[cfg(test)]
mod tests;
