//! YAML, and JSON as a part of it, as plain values.

use std::fmt;

use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

/// Parses `text`.
///
/// # Errors
/// What is wrong with it, with its line.
pub(super) fn parse(text: &str) -> Result<Value, String> {
    let options = serde_saphyr::options! { with_snippet: false };
    serde_saphyr::from_str_with_options::<Plain>(text, options)
        .map(|plain| plain.0)
        .map_err(|error| error.to_string())
}

/// A value without what JSON has no form for.
struct Plain(Value);

impl<'de> Deserialize<'de> for Plain {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(PlainVisitor).map(Plain)
    }
}

struct PlainVisitor;

impl<'de> Visitor<'de> for PlainVisitor {
    type Value = Value;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("fields, lists, texts, numbers, or yes and no")
    }

    fn visit_bool<E: de::Error>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Value, E> {
        // Plain `serde_json::Value` would read what is not a number as nothing at all.
        Number::from_f64(value)
            .map(Value::Number)
            .ok_or_else(|| E::custom("a number must be finite"))
    }

    fn visit_str<E: de::Error>(self, value: &str) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_unit<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_none<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Plain(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some((key, Plain(value))) = entries.next_entry::<String, _>()? {
            if map.insert(key.clone(), value).is_some() {
                return Err(de::Error::custom(format!("{key:?} is there twice")));
            }
        }
        Ok(Value::Object(map))
    }
}
