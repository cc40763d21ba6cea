//! From plain values to the JSON form of the API, following the descriptors; every fault is kept.

use ostler_proto::{DESCRIPTOR_POOL, v1};
use prost::Message;
use prost_reflect::{EnumDescriptor, FieldDescriptor, Kind as FieldKind, MessageDescriptor};
use serde_json::{Map, Value};

use super::yaml;
use crate::errors::Fault;
use crate::output::word;

/// A steps-and-value pair of one setting.
type Setting = (Vec<String>, Value);

/// The field of `descriptor` that `key` names, in either spelling.
pub(super) fn field(descriptor: &MessageDescriptor, key: &str) -> Option<FieldDescriptor> {
    descriptor
        .get_field_by_name(key)
        .or_else(|| descriptor.get_field_by_json_name(key))
}

/// What the contract says of a field.
pub(super) fn rule(field: &FieldDescriptor) -> v1::FieldRule {
    let stated = DESCRIPTOR_POOL
        .get_extension_by_name("ostler.v1.rule")
        .and_then(|extension| {
            let options = field.options();
            let value = options.get_extension(&extension);
            v1::FieldRule::decode(value.as_message()?.encode_to_vec().as_slice()).ok()
        });
    stated.unwrap_or_default()
}

/// Reads values as messages.
pub(super) struct Reader<'a> {
    fleet: &'a str,
    /// Everything that was wrong.
    pub(super) faults: Vec<Fault>,
}

impl<'a> Reader<'a> {
    /// A reader for which ids belong to `fleet`.
    pub(super) fn new(fleet: &'a str) -> Self {
        Self {
            fleet,
            faults: Vec::new(),
        }
    }

    fn refuse(&mut self, path: &str, problem: impl Into<String>) -> Value {
        self.faults.push(Fault {
            field: path.to_owned(),
            problem: problem.into(),
        });
        Value::Null
    }

    /// `value` as the JSON form of a message of `descriptor`.
    pub(super) fn message(&mut self, value: &Value, descriptor: &MessageDescriptor, path: &str) -> Value {
        if descriptor.package_name() == "google.protobuf" {
            return value.clone();
        }
        if descriptor.full_name() == "ostler.v1.Fact"
            && let Some(fact) = plain_fact(value)
        {
            return fact;
        }
        let Value::Object(entries) = value else {
            return self.refuse(path, "must hold fields and their values");
        };
        let mut result = Map::new();
        for (key, entry) in entries {
            let at = if path.is_empty() {
                key.clone()
            } else {
                format!("{path}.{key}")
            };
            match field(descriptor, key) {
                Some(field) => {
                    let value = self.field(entry, &field, &at);
                    result.insert(field.json_name().to_owned(), value);
                }
                None => {
                    let nearest = nearest(key, descriptor.fields().map(|field| field.name().to_owned()));
                    self.refuse(&at, format!("is not a field here{nearest}"));
                }
            }
        }
        Value::Object(result)
    }

    fn field(&mut self, value: &Value, field: &FieldDescriptor, path: &str) -> Value {
        match value {
            Value::Null => Value::Null,
            Value::Object(entries) if field.is_map() => {
                let FieldKind::Message(entry) = field.kind() else {
                    return value.clone();
                };
                let inner = entry.map_entry_value_field();
                let read = |(key, item): (&String, &Value)| {
                    let value = self.single(item, &inner, Some(field), &format!("{path}.{key}"));
                    (key.clone(), value)
                };
                Value::Object(entries.iter().map(read).collect())
            }
            _ if field.is_map() => self.refuse(path, "must be keys with their values"),
            Value::Array(items) if field.is_list() => {
                let read = |(index, item)| self.single(item, field, None, &format!("{path}[{index}]"));
                Value::Array(items.iter().enumerate().map(read).collect())
            }
            _ if field.is_list() => self.refuse(path, "must be a list"),
            _ => self.single(value, field, None, path),
        }
    }

    /// One value of `field`; `ruled` is the field whose rule holds where it is another one.
    fn single(
        &mut self,
        value: &Value,
        field: &FieldDescriptor,
        ruled: Option<&FieldDescriptor>,
        path: &str,
    ) -> Value {
        match (field.kind(), value) {
            (FieldKind::Message(_), Value::Null) => Value::Object(Map::new()),
            (FieldKind::Message(inner), _) => self.message(value, &inner, path),
            (FieldKind::Enum(enumeration), Value::String(text)) => match enum_value(&enumeration, text) {
                Some(name) => Value::String(name),
                None => {
                    let words = words_of(&enumeration).join(", ");
                    self.refuse(path, format!("must be one of {words}; is {text:?}"))
                }
            },
            (FieldKind::String, Value::String(text)) => {
                Value::String(reference(&rule(ruled.unwrap_or(field)), text, self.fleet))
            }
            (FieldKind::String, Value::Number(_) | Value::Bool(_)) => {
                self.refuse(path, format!("must be a text: put {value} in quotes"))
            }
            (FieldKind::Bool, Value::Bool(_)) => value.clone(),
            (FieldKind::Bool, _) => self.refuse(path, format!("must be yes or no, is {value}")),
            (FieldKind::Double | FieldKind::Float, Value::Number(_)) => value.clone(),
            (FieldKind::Int32 | FieldKind::Int64, Value::Number(number)) if is_whole(number) => value.clone(),
            // The JSON form writes 64-bit numbers as text.
            (FieldKind::Int64, Value::String(text)) if text.parse::<i64>().is_ok() => value.clone(),
            (FieldKind::Int32 | FieldKind::Int64, _) => {
                self.refuse(path, format!("must be a whole number, is {value}"))
            }
            (FieldKind::Double | FieldKind::Float, _) => {
                self.refuse(path, format!("must be a number, is {value}"))
            }
            _ => self.refuse(path, format!("cannot be {value}")),
        }
    }
}

fn is_whole(number: &serde_json::Number) -> bool {
    number.is_i64() || number.is_u64()
}

/// A plain value as the fact it states.
fn plain_fact(value: &Value) -> Option<Value> {
    let member = match value {
        Value::Bool(_) => "yes",
        Value::Number(_) => "number",
        Value::String(_) => "text",
        Value::Null => return Some(Value::Object(Map::new())),
        _ => return None,
    };
    Some(Value::Object(
        [(member.to_owned(), value.clone())].into_iter().collect(),
    ))
}

/// The name of the value that `text` means: its name itself, or its word.
fn enum_value(enumeration: &EnumDescriptor, text: &str) -> Option<String> {
    let wanted = text.trim().to_lowercase().replace(['-', '_'], " ");
    enumeration
        .values()
        .find(|value| value.name() == text || word(enumeration.name(), value.name()) == wanted)
        .map(|value| value.name().to_owned())
}

fn words_of(enumeration: &EnumDescriptor) -> Vec<String> {
    enumeration
        .values()
        .filter(|value| value.number() != 0)
        .map(|value| word(enumeration.name(), value.name()))
        .collect()
}

/// The full name that `text` stands for in a field with `rule`; `text` itself where it stands for none.
fn reference(rule: &v1::FieldRule, text: &str, fleet: &str) -> String {
    let collections: Vec<&str> = if rule.refers_to.is_empty() {
        rule.refers_to_any.iter().map(String::as_str).collect()
    } else {
        vec![rule.refers_to.as_str()]
    };
    if text.is_empty() || text.starts_with("fleets/") || fleet.is_empty() {
        return text.to_owned();
    }
    let with_collection = |collection: &&str| {
        text.split_once('/')
            .is_some_and(|(first, _)| first == *collection)
    };
    match collections.as_slice() {
        [] => text.to_owned(),
        [collection] if !text.contains('/') && !collection.contains('/') => {
            format!("{fleet}/{collection}/{text}")
        }
        several
            if several
                .iter()
                .any(|collection| with_collection(&collection.split('/').next().unwrap_or_default())) =>
        {
            format!("{fleet}/{text}")
        }
        _ => text.to_owned(),
    }
}

fn nearest(key: &str, names: impl Iterator<Item = String>) -> String {
    let snake = key.to_lowercase().replace('-', "_");
    names
        .map(|name| (strsim::jaro_winkler(&snake, &name), name))
        .filter(|(likeness, _)| *likeness > 0.8)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, name)| format!("; did you mean {name}?"))
        .unwrap_or_default()
}

/// The steps and the value of the setting `path`=`text`. Null clears the field.
///
/// # Errors
/// When the path leads to no field, or the text is no value of it.
pub(super) fn setting(root: &MessageDescriptor, path: &str, text: &str) -> Result<Setting, String> {
    let mut descriptor = root.clone();
    let mut steps = Vec::new();
    let mut parts = path.split('.').peekable();
    while let Some(part) = parts.next() {
        let Some(field) = field(&descriptor, part) else {
            return Err(format!(
                "is not a field{}",
                nearest(part, descriptor.fields().map(|field| field.name().to_owned()))
            ));
        };
        steps.push(field.name().to_owned());
        if parts.peek().is_none() {
            return Ok((steps, setting_value(&field, text)?));
        }
        match field.kind() {
            FieldKind::Message(inner) if !field.is_list() && !field.is_map() => descriptor = inner,
            _ => {
                return Err(format!(
                    "leads into {}, which can only be given as a whole",
                    field.name()
                ));
            }
        }
    }
    Err("is not a field".to_owned())
}

fn setting_value(field: &FieldDescriptor, text: &str) -> Result<Value, String> {
    if text.is_empty() {
        return Ok(Value::Null);
    }
    let single = !field.is_list() && !field.is_map();
    match field.kind() {
        FieldKind::String | FieldKind::Enum(_) if single => Ok(Value::String(text.to_owned())),
        FieldKind::Bool if single => match text {
            "yes" | "true" => Ok(Value::Bool(true)),
            "no" | "false" => Ok(Value::Bool(false)),
            _ => Err(format!("must be yes or no, is {text:?}")),
        },
        _ => yaml::parse(text),
    }
}
