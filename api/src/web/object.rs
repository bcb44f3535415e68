//! What a JSON body may be: objects where objects are due, and no name twice in one of them.

use std::fmt;
use std::marker::PhantomData;

use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

/// A JSON object read as `T`. Serde alone would also take a list of a struct's values in the order
/// of its fields.
#[derive(Debug)]
pub struct Object<T>(pub T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Object<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(Members(PhantomData))
    }
}

struct Members<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Members<T> {
    type Value = Object<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, members: A) -> Result<Object<T>, A::Error> {
        T::deserialize(MapAccessDeserializer::new(members)).map(Object)
    }
}

/// A list of objects, for a field of a body: `#[serde(deserialize_with = "object::list")]`.
///
/// # Errors
/// Those of the deserialiser.
pub fn list<'de, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Vec<T>, D::Error> {
    let objects = Vec::<Object<T>>::deserialize(deserializer)?;
    Ok(objects.into_iter().map(|object| object.0).collect())
}

/// Any JSON in which no object has a name twice. Parsers disagree which of the two counts (RFC 8259,
/// section 4), so neither does.
#[derive(Debug)]
pub struct Unambiguous(pub Value);

impl<'de> Deserialize<'de> for Unambiguous {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyValue).map(Unambiguous)
    }
}

struct AnyValue;

impl<'de> Visitor<'de> for AnyValue {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Unambiguous(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some((name, Unambiguous(value))) = members.next_entry::<String, _>()? {
            if object.contains_key(&name) {
                // As serde words it for structs.
                return Err(A::Error::custom(format!("duplicate field `{name}`")));
            }
            object.insert(name, value);
        }
        Ok(Value::Object(object))
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::{from_str, json};

    use super::{Object, Unambiguous, Value};

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Pair {
        #[allow(dead_code)]
        a: Option<i64>,
        #[allow(dead_code)]
        b: Option<i64>,
    }

    #[test]
    fn a_list_is_no_object() {
        assert!(from_str::<Pair>("[1, 2]").is_ok(), "what serde takes");
        let refused = from_str::<Object<Pair>>("[1, 2]").unwrap_err().to_string();
        assert!(refused.contains("expected an object"), "{refused}");
        assert!(from_str::<Object<Pair>>(r#"{"a": 1}"#).is_ok());
        assert!(from_str::<Object<Pair>>(r#"{"a": 1, "a": 1}"#).is_err());
    }

    #[test]
    fn any_json_comes_back_as_it_is() {
        let text = r#"{"a":[1,-2,2.5,"x",null,true,{"b":{}}],"c":18446744073709551615}"#;
        let Unambiguous(value) = from_str(text).unwrap();
        assert_eq!(value, from_str::<Value>(text).unwrap());
    }

    #[test]
    fn a_name_is_there_once_at_every_depth() {
        for twice in [r#"{"a":1,"a":1}"#, r#"[{"b":{"a":1,"c":2,"a":3}}]"#] {
            assert!(from_str::<Unambiguous>(twice).is_err(), "{twice}");
        }
        assert_eq!(
            from_str::<Unambiguous>(r#"[{"a":1},{"a":1}]"#).unwrap().0,
            json!([{"a":1},{"a":1}])
        );
    }
}
