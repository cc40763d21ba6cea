//! What a message refers to, by the contract's `refers_to`.

use prost_reflect::{DynamicMessage, ReflectMessage, Value};

use super::rules::{rule, targets};

/// A field that names a resource.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reference {
    /// Path of the field.
    pub field: String,
    /// The name it holds.
    pub target: String,
}

/// Every resource that a message refers to, in the order of its fields.
pub fn references(message: &impl ReflectMessage) -> Vec<Reference> {
    let mut found = Vec::new();
    walk("", &message.transcode_to_dynamic(), &mut found);
    found
}

fn walk(parent: &str, message: &DynamicMessage, found: &mut Vec<Reference>) {
    for field in message.descriptor().fields() {
        if !message.has_field(&field) {
            continue;
        }
        let refers = targets(rule(&field)).next().is_some();
        let path = if parent.is_empty() {
            field.name().to_owned()
        } else {
            format!("{parent}.{}", field.name())
        };
        each_value(
            &path,
            &message.get_field(&field),
            &mut |path, value| match value {
                Value::String(target) if refers && !target.is_empty() => {
                    found.push(Reference {
                        field: path.to_owned(),
                        target: target.clone(),
                    });
                }
                Value::Message(message) => walk(path, message, found),
                _ => {}
            },
        );
    }
}

fn each_value(path: &str, value: &Value, visit: &mut impl FnMut(&str, &Value)) {
    match value {
        Value::List(values) => {
            for (index, value) in values.iter().enumerate() {
                visit(&format!("{path}[{index}]"), value);
            }
        }
        Value::Map(entries) => {
            for (key, value) in entries {
                visit(&format!("{path}[{:?}]", key.as_str().unwrap_or_default()), value);
            }
        }
        value => visit(path, value),
    }
}
