//! Messages and enumerations as JSON Schemas of their JSON form (the proto3 JSON mapping of protobuf.dev, from memory).

use ostler_proto::v1::FieldRule;
use prost_reflect::{EnumDescriptor, FieldDescriptor, Kind, MessageDescriptor};
use serde_json::{Map, Value, json};

use super::comments;
use crate::contract;

/// A reference to the schema of a message or enumeration.
pub(super) fn reference(full_name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{full_name}") })
}

/// Turns every reference that begins with `from` into one that begins with `to`.
pub(super) fn move_references(schema: &mut Value, from: &str, to: &str) {
    match schema {
        Value::Object(fields) => {
            for (key, value) in fields {
                match value {
                    Value::String(text) if key == "$ref" => {
                        if let Some(name) = text.strip_prefix(from) {
                            *text = format!("{to}{name}");
                        }
                    }
                    other => move_references(other, from, to),
                }
            }
        }
        Value::Array(items) => items.iter_mut().for_each(|item| move_references(item, from, to)),
        _ => {}
    }
}

/// Schemas by full name.
#[derive(Debug, Default)]
pub(super) struct Schemas {
    by_name: Map<String, Value>,
}

impl Schemas {
    /// Adds a message and all that it is made of.
    pub(super) fn add_message(&mut self, message: &MessageDescriptor) {
        if self.by_name.contains_key(message.full_name()) {
            return;
        }
        let known = well_known(message.full_name());
        let is_known = known.is_some();
        // Before its fields, so that a message within itself ends.
        let name = message.full_name().to_owned();
        self.by_name
            .insert(name.clone(), known.unwrap_or_else(|| object(message)));
        if is_known {
            return;
        }
        for field in message.fields() {
            self.add_kind(&field.kind());
        }
    }

    /// All schemas, by name.
    pub(super) fn into_map(mut self) -> Map<String, Value> {
        self.by_name.sort_keys();
        self.by_name
    }

    fn add_kind(&mut self, kind: &Kind) {
        match kind {
            Kind::Message(message) if message.is_map_entry() => {
                self.add_kind(&message.map_entry_value_field().kind());
            }
            Kind::Message(message) => self.add_message(message),
            Kind::Enum(enumeration) => {
                self.by_name
                    .entry(enumeration.full_name().to_owned())
                    .or_insert_with(|| words(enumeration));
            }
            _ => {}
        }
    }
}

/// The JSON forms that are not objects of their fields.
fn well_known(full_name: &str) -> Option<Value> {
    Some(match full_name {
        "google.protobuf.Timestamp" => json!({ "type": "string", "format": "date-time" }),
        "google.protobuf.Duration" => {
            json!({ "type": "string", "description": "Seconds, as in `1.5s`.", "pattern": "^-?[0-9]+(\\.[0-9]+)?s$" })
        }
        "google.protobuf.FieldMask" => {
            json!({ "type": "string", "description": "Paths in lowerCamelCase, separated by commas." })
        }
        "google.protobuf.Struct" | "google.protobuf.Empty" => json!({ "type": "object" }),
        _ => return None,
    })
}

fn words(enumeration: &EnumDescriptor) -> Value {
    let values: Vec<String> = enumeration
        .values()
        .map(|value| value.name().to_owned())
        .collect();
    json!({
        "type": "string",
        "description": comments::of(&enumeration.parent_file(), enumeration.path()),
        "enum": values,
    })
}

fn object(message: &MessageDescriptor) -> Value {
    let properties: Map<String, Value> = message
        .fields()
        .map(|field| (field.json_name().to_owned(), property(&field)))
        .collect();
    // A resource that is changed need not be sent whole, so only a request says what it must have.
    let is_request = contract::role_of_request(message).is_some();
    let required: Vec<String> = message
        .fields()
        .filter(|field| is_request && contract::rule(field).required)
        .map(|field| field.json_name().to_owned())
        .collect();
    let mut schema = json!({
        "type": "object",
        "description": comments::of(&message.parent_file(), message.path()),
        "properties": properties,
        "additionalProperties": false,
    });
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    let one_of: Vec<Value> = message
        .oneofs()
        .filter(|oneof| oneof.fields().len() > 1)
        .map(|oneof| at_most_one(&oneof.fields().collect::<Vec<_>>()))
        .collect();
    if !one_of.is_empty() {
        schema["allOf"] = Value::Array(one_of);
    }
    schema
}

/// Either none of these fields is there, or exactly one.
fn at_most_one(fields: &[FieldDescriptor]) -> Value {
    let mut cases: Vec<Value> = fields
        .iter()
        .map(|field| json!({ "required": [field.json_name()] }))
        .collect();
    let none = json!({ "not": { "anyOf": cases.clone() } });
    cases.push(none);
    json!({ "oneOf": cases })
}

fn property(field: &FieldDescriptor) -> Value {
    let rule = contract::rule(field);
    let mut schema = if field.is_map() {
        map(field, rule)
    } else if field.is_list() {
        let mut list = json!({ "type": "array", "items": single(&field.kind(), rule) });
        put(&mut list, "maxItems", rule.max_items);
        list
    } else {
        single(&field.kind(), rule)
    };
    let comment = comments::of(&field.parent_message().parent_file(), field.path());
    if !comment.is_empty() {
        schema["description"] = comment.into();
    }
    if rule.output_only {
        schema["readOnly"] = true.into();
    }
    if rule.required {
        schema["x-required"] = true.into();
    }
    let targets: Vec<&str> = contract::targets(rule).collect();
    if !targets.is_empty() {
        schema["x-refers-to"] = json!(targets);
    }
    schema
}

fn map(field: &FieldDescriptor, rule: &FieldRule) -> Value {
    let value = match field.kind() {
        Kind::Message(entry) => single(&entry.map_entry_value_field().kind(), rule),
        _ => json!({}),
    };
    let mut map = json!({ "type": "object", "additionalProperties": value });
    put(&mut map, "maxProperties", rule.max_items);
    map
}

fn single(kind: &Kind, rule: &FieldRule) -> Value {
    match kind {
        Kind::Double | Kind::Float => number("number", rule),
        Kind::Int32 | Kind::Sint32 | Kind::Sfixed32 | Kind::Uint32 | Kind::Fixed32 => number("integer", rule),
        // Written as text, because a JSON number may lose its last digits on the way.
        Kind::Int64 | Kind::Sint64 | Kind::Sfixed64 | Kind::Uint64 | Kind::Fixed64 => {
            json!({ "type": ["string", "integer"], "pattern": "^-?[0-9]+$" })
        }
        Kind::Bool => json!({ "type": "boolean" }),
        Kind::Bytes => json!({ "type": "string", "contentEncoding": "base64" }),
        Kind::String => text(rule),
        Kind::Message(message) => reference(message.full_name()),
        Kind::Enum(enumeration) => reference(enumeration.full_name()),
    }
}

fn number(kind: &str, rule: &FieldRule) -> Value {
    let mut schema = json!({ "type": kind });
    let smallest = if rule.above_min {
        "exclusiveMinimum"
    } else {
        "minimum"
    };
    put(&mut schema, smallest, rule.min);
    put(&mut schema, "maximum", rule.max);
    schema
}

fn text(rule: &FieldRule) -> Value {
    let mut schema = json!({ "type": "string" });
    put(&mut schema, "maxLength", rule.max_length);
    match rule.form.as_str() {
        "" => {}
        "date" => schema["format"] = "date".into(),
        "uuid" => schema["format"] = "uuid".into(),
        form => schema["x-form"] = form.into(),
    }
    schema
}

fn put(schema: &mut Value, key: &str, value: Option<impl Into<Value>>) {
    if let Some(value) = value {
        schema[key] = value.into();
    }
}
