//! What a schema has: attributes with their characteristics (RFC 7643, section 2.2 and section 7).

use serde_json::{Map, Value, json};

use super::filter::AttrPath;

/// What values an attribute takes.
#[derive(Debug, Clone, Copy)]
pub enum Type {
    /// Text.
    Text,
    /// true or false.
    Boolean,
    /// An instant (RFC 3339).
    Instant,
    /// The address of a resource of one of these types.
    Reference(&'static [&'static str]),
    /// Parts.
    Complex(&'static [Attribute]),
}

/// Whether and when it can be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mutability {
    /// By the service alone.
    ReadOnly,
    /// At any time.
    ReadWrite,
}

/// When it is in an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Returned {
    /// Always.
    Always,
    /// Unless it is excluded, or others are asked for.
    ByDefault,
}

/// An attribute.
#[derive(Debug, Clone, Copy)]
pub struct Attribute {
    /// Its name.
    pub name: &'static str,
    /// What it means.
    pub description: &'static str,
    /// What values it takes.
    pub kind: Type,
    /// Whether it has several values.
    pub many: bool,
    /// Whether it must be there.
    pub required: bool,
    /// Whether upper and lower case differ.
    pub case_exact: bool,
    /// Whether and when it can be changed.
    pub mutability: Mutability,
    /// When it is in an answer.
    pub returned: Returned,
    /// Whether no two resources of the club have the same value.
    pub unique: bool,
    /// The values there are; empty where any will do.
    pub values: &'static [&'static str],
}

impl Attribute {
    /// A text that may be changed.
    pub const fn text(name: &'static str, description: &'static str) -> Self {
        Self {
            name,
            description,
            kind: Type::Text,
            many: false,
            required: false,
            case_exact: true,
            mutability: Mutability::ReadWrite,
            returned: Returned::ByDefault,
            unique: false,
            values: &[],
        }
    }

    /// The same of another type.
    pub const fn of(self, kind: Type) -> Self {
        Self { kind, ..self }
    }

    /// The same with several values.
    pub const fn many(self) -> Self {
        Self { many: true, ..self }
    }

    /// The same, which must be there.
    pub const fn required(self) -> Self {
        Self {
            required: true,
            ..self
        }
    }

    /// The same, set by the service alone.
    pub const fn read_only(self) -> Self {
        Self {
            mutability: Mutability::ReadOnly,
            ..self
        }
    }

    /// The same, in every answer.
    pub const fn always(self) -> Self {
        Self {
            returned: Returned::Always,
            ..self
        }
    }

    /// The same, with upper and lower case alike.
    pub const fn any_case(self) -> Self {
        Self {
            case_exact: false,
            ..self
        }
    }

    /// The same, which no two have alike.
    pub const fn unique(self) -> Self {
        Self {
            unique: true,
            ..self
        }
    }

    /// The same, with one of these values.
    pub const fn one_of(self, values: &'static [&'static str]) -> Self {
        Self { values, ..self }
    }

    /// A part of it by name.
    pub fn part(&self, name: &str) -> Option<&'static Attribute> {
        match self.kind {
            Type::Complex(parts) => named(parts, name),
            _ => None,
        }
    }

    /// Whether somebody else than the service sets it.
    pub fn is_writable(&self) -> bool {
        self.mutability == Mutability::ReadWrite
    }

    fn described(&self) -> Value {
        let kind = match self.kind {
            Type::Text => "string",
            Type::Boolean => "boolean",
            Type::Instant => "dateTime",
            Type::Reference(_) => "reference",
            Type::Complex(_) => "complex",
        };
        let mut told = json!({
            "name": self.name,
            "type": kind,
            "multiValued": self.many,
            "description": self.description,
            "required": self.required,
            "mutability": match self.mutability {
                Mutability::ReadOnly => "readOnly",
                Mutability::ReadWrite => "readWrite",
            },
            "returned": match self.returned {
                Returned::Always => "always",
                Returned::ByDefault => "default",
            },
        });
        if !matches!(self.kind, Type::Boolean | Type::Complex(_)) {
            told["caseExact"] = self.case_exact.into();
            told["uniqueness"] = if self.unique { "server" } else { "none" }.into();
        }
        if let Type::Complex(parts) = self.kind {
            told["subAttributes"] = parts.iter().map(Self::described).collect();
        }
        if let Type::Reference(types) = self.kind {
            told["referenceTypes"] = types.into();
        }
        if !self.values.is_empty() {
            told["canonicalValues"] = self.values.into();
        }
        told
    }
}

fn named<'a>(attributes: &'a [Attribute], name: &str) -> Option<&'a Attribute> {
    let mut attributes = attributes.iter();
    attributes.find(|one| one.name.eq_ignore_ascii_case(name))
}

/// What every resource has, whatever its schema (RFC 7643, section 3.1).
pub const COMMON: &[Attribute] = &[
    Attribute::text("id", "The id here; it never changes.")
        .read_only()
        .always()
        .unique(),
    Attribute::text("externalId", "The id that the directory gives."),
    Attribute::text("meta", "When it was made and changed, and where it is.")
        .read_only()
        .of(Type::Complex(&[
            Attribute::text("resourceType", "User or Group.").read_only(),
            Attribute::text("created", "When it was made.")
                .of(Type::Instant)
                .read_only(),
            Attribute::text("lastModified", "When it was last changed.")
                .of(Type::Instant)
                .read_only(),
            Attribute::text("location", "Where it is.").read_only(),
            Attribute::text("version", "Its entity tag.").read_only(),
        ])),
];

/// A schema.
#[derive(Debug, Clone, Copy)]
pub struct Schema {
    /// Its URN.
    pub id: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is of, and what of it is not kept.
    pub description: &'static str,
    /// Its attributes.
    pub attributes: &'static [Attribute],
}

impl Schema {
    /// As `/Schemas` tells it; `base` is the path of the club.
    pub fn described(&self, base: &str) -> Value {
        json!({
            "schemas": ["urn:ietf:params:scim:schemas:core:2.0:Schema"],
            "id": self.id,
            "name": self.name,
            "description": self.description,
            "attributes": self.attributes.iter().map(Attribute::described).collect::<Vec<_>>(),
            "meta": { "resourceType": "Schema", "location": format!("{base}/Schemas/{}", self.id) },
        })
    }
}

/// A kind of resource.
#[derive(Debug, Clone, Copy)]
pub struct ResourceType {
    /// Its name.
    pub name: &'static str,
    /// Where its resources are, below the path of the club.
    pub endpoint: &'static str,
    /// What they are.
    pub description: &'static str,
    /// Its schema.
    pub schema: &'static Schema,
    /// What its resources may have beside.
    pub extension: Option<&'static Schema>,
    /// Attributes of the RFC's schema, and whole schemas, that are read over: none of their values is kept.
    pub not_kept: &'static [&'static str],
}

/// What a name leads to.
#[derive(Debug, Clone, Copy)]
pub enum Named {
    /// An attribute, in the extension or not.
    Attribute(&'static Attribute, bool),
    /// The extension itself.
    Extension,
    /// Something that the RFC knows and that is not kept here.
    NotKept,
}

impl ResourceType {
    /// An attribute of the schema or of every resource.
    pub fn own(&self, name: &str) -> Option<&'static Attribute> {
        named(self.schema.attributes, name).or_else(|| named(COMMON, name))
    }

    /// Whether a name is of something that is not kept.
    pub fn is_not_kept(&self, name: &str) -> bool {
        let mut names = self.not_kept.iter();
        names.any(|known| known.eq_ignore_ascii_case(name))
    }

    /// Whether a text is the extension's URN.
    pub fn is_extension(&self, text: &str) -> bool {
        let extension = self.extension;
        extension.is_some_and(|extension| extension.id.eq_ignore_ascii_case(text))
    }

    /// What a path leads to; nothing where no schema has it.
    pub fn named(&self, path: &AttrPath) -> Option<Named> {
        let Some(schema) = &path.schema else {
            let found = self.own(&path.name);
            return match found {
                Some(found) => Some(Named::Attribute(found, false)),
                None => self.is_not_kept(&path.name).then_some(Named::NotKept),
            };
        };
        // The name of a whole schema reads as an attribute of what stands before its last colon.
        let whole = path.to_string();
        if self.is_extension(&whole) {
            return Some(Named::Extension);
        }
        if self.is_not_kept(&whole) || self.is_not_kept(schema) {
            return Some(Named::NotKept);
        }
        if self.schema.id.eq_ignore_ascii_case(schema) {
            let plain = AttrPath {
                schema: None,
                ..path.clone()
            };
            return self.named(&plain);
        }
        let extension = self.extension.filter(|_| self.is_extension(schema))?;
        named(extension.attributes, &path.name).map(|found| Named::Attribute(found, true))
    }

    /// As `/ResourceTypes` tells it.
    pub fn described(&self, base: &str) -> Value {
        let extensions = self.extension.iter();
        let extensions = extensions.map(|schema| json!({ "schema": schema.id, "required": false }));
        json!({
            "schemas": ["urn:ietf:params:scim:schemas:core:2.0:ResourceType"],
            "id": self.name,
            "name": self.name,
            "endpoint": self.endpoint,
            "description": self.description,
            "schema": self.schema.id,
            "schemaExtensions": extensions.collect::<Vec<_>>(),
            "meta": { "resourceType": "ResourceType", "location": format!("{base}/ResourceTypes/{}", self.name) },
        })
    }
}

/// The object in a resource that an attribute stands in.
pub fn holder<'a>(
    resource: &'a Map<String, Value>,
    kind: &ResourceType,
    in_extension: bool,
) -> Option<&'a Map<String, Value>> {
    match (in_extension, kind.extension) {
        (false, _) => Some(resource),
        (true, Some(extension)) => resource.get(extension.id)?.as_object(),
        (true, None) => None,
    }
}
