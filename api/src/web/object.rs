//! What a JSON body may be: objects where objects are due, and no name twice in one of them.

use std::fmt;
use std::marker::PhantomData;

use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
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

/// A list of which one item beyond the most is kept, by which the caller knows that there are too many; the rest is read over, so
/// that a long list takes no memory: `#[serde(deserialize_with = "object::at_most::<10, _, _>")]`.
///
/// # Errors
/// Those of the deserialiser.
pub fn at_most<'de, const MOST: usize, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Vec<T>, D::Error> {
    AtMost::<MOST, T>::deserialize(deserializer).map(|list| list.0)
}

/// As [`at_most`], where there may be no list; the field needs `default` too.
///
/// # Errors
/// Those of the deserialiser.
pub fn some_at_most<'de, const MOST: usize, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Option<Vec<T>>, D::Error> {
    let list = Option::<AtMost<MOST, T>>::deserialize(deserializer)?;
    Ok(list.map(|list| list.0))
}

/// As [`at_most`], of objects.
///
/// # Errors
/// Those of the deserialiser.
pub fn list_at_most<'de, const MOST: usize, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Vec<T>, D::Error> {
    let objects = AtMost::<MOST, Object<T>>::deserialize(deserializer)?.0;
    Ok(objects.into_iter().map(|object| object.0).collect())
}

/// As [`list_at_most`], where there may be no list; the field needs `default` too.
///
/// # Errors
/// Those of the deserialiser.
pub fn some_list_at_most<'de, const MOST: usize, D: Deserializer<'de>, T: Deserialize<'de>>(
    deserializer: D,
) -> Result<Option<Vec<T>>, D::Error> {
    let objects = Option::<AtMost<MOST, Object<T>>>::deserialize(deserializer)?;
    Ok(objects.map(|objects| objects.0.into_iter().map(|object| object.0).collect()))
}

struct AtMost<const MOST: usize, T>(Vec<T>);

impl<'de, const MOST: usize, T: Deserialize<'de>> Deserialize<'de> for AtMost<MOST, T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(FirstItems(PhantomData))
    }
}

struct FirstItems<const MOST: usize, T>(PhantomData<T>);

impl<'de, const MOST: usize, T: Deserialize<'de>> Visitor<'de> for FirstItems<MOST, T> {
    type Value = AtMost<MOST, T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a sequence")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Self::Value, A::Error> {
        let mut list = Vec::new();
        while list.len() <= MOST {
            match items.next_element()? {
                Some(item) => list.push(item),
                None => return Ok(AtMost(list)),
            }
        }
        while items.next_element::<IgnoredAny>()?.is_some() {}
        Ok(AtMost(list))
    }
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

    #[derive(Debug, Deserialize)]
    struct Lists {
        #[serde(deserialize_with = "super::at_most::<2, _, _>")]
        some: Vec<u8>,
        #[serde(default, deserialize_with = "super::some_at_most::<2, _, _>")]
        perhaps: Option<Vec<u8>>,
    }

    #[derive(Debug, Deserialize)]
    struct Objects {
        #[serde(deserialize_with = "super::list_at_most::<2, _, _>")]
        pairs: Vec<Pair>,
    }

    #[test]
    fn a_list_of_objects_keeps_one_too_many() {
        let read = |text: &str| from_str::<Objects>(text).map(|objects| objects.pairs.len());
        assert_eq!(read(r#"{"pairs": [{}, {}]}"#).unwrap(), 2);
        assert_eq!(read(r#"{"pairs": []}"#).unwrap(), 0);
        // What follows is read over, whatever it is.
        assert_eq!(read(r#"{"pairs": [{}, {}, {}, 7, {"c": 1}]}"#).unwrap(), 3);
        assert!(read(r#"{"pairs": [7]}"#).is_err(), "no object");
    }

    #[test]
    fn no_more_than_one_item_too_many_is_kept() {
        let read = |text: &str| from_str::<Lists>(text).map(|lists| (lists.some, lists.perhaps));
        let long = format!("[{}0]", "0,".repeat(100));
        let text = format!(r#"{{"some": {long}, "perhaps": {long}}}"#);
        assert_eq!(read(&text).unwrap(), (vec![0; 3], Some(vec![0; 3])));
        let short = read(r#"{"some": [1, 2], "perhaps": null}"#).unwrap();
        assert_eq!(short, (vec![1, 2], None));
        assert_eq!(read(r#"{"some": []}"#).unwrap(), (Vec::new(), None));
        assert!(
            read(r#"{"some": [1, 2, 3, 4, }"#).is_err(),
            "no JSON behind"
        );
        let refused = read(r#"{"some": 1}"#).unwrap_err().to_string();
        assert!(refused.contains("expected a sequence"), "{refused}");
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
