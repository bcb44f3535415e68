//! A JSON object in which every key occurs once.
//!
//! JSON parsers disagree about repeated keys (RFC 8259 section 4): one takes the first, another the
//! last. A token that one part of a system reads in one way and another part in the other is an
//! attack, so repetition is refused.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, Visitor};
use serde_json::{Map, Value};

/// The object; its values are any JSON.
#[derive(Debug)]
pub(super) struct Object(pub(super) Map<String, Value>);

impl Object {
    /// Reads an object from UTF-8 JSON; `None` for anything else.
    pub(super) fn parse(json: &[u8]) -> Option<Object> {
        serde_json::from_slice(json).ok()
    }
}

impl<'de> Deserialize<'de> for Object {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(UniqueKeys)
    }
}

struct UniqueKeys;

impl<'de> Visitor<'de> for UniqueKeys {
    type Value = Object;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object in which every key occurs once")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Object, A::Error> {
        let mut object = Map::new();
        while let Some((key, value)) = entries.next_entry::<String, Value>()? {
            if object.insert(key, value).is_some() {
                return Err(A::Error::custom("a key occurs twice"));
            }
        }
        Ok(Object(object))
    }
}
