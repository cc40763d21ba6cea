//! From resources to a file.

use std::collections::BTreeMap;

use ostler_core::record::Name;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MapKey, ReflectMessage, Value};

use super::emit::{Out, document};
use super::fields::{enum_word, is_fact, is_identity, must_be_written};
use super::parse::WHOLE;
use super::sections::{FITMENTS, FLEET, SECTIONS, VEHICLES, shorten};
use super::{FileResource, FleetFile, VERSION};
use crate::contract::{rule, targets};

/// Writes a fleet as a fleet file: the same bytes for the same resources, in order of their ids.
///
/// [`super::read_with_faults`] gives the same resources back.
pub(in crate::app) fn write(file: &FleetFile) -> Vec<u8> {
    let writer = Writer { fleet: &file.fleet };
    let mut fleet = vec![("id".to_owned(), Out::Text(file.fleet.id().to_owned()))];
    let mut sections: BTreeMap<&str, BTreeMap<&str, &FileResource>> = BTreeMap::new();
    let mut fitted: BTreeMap<Name, BTreeMap<&str, &FileResource>> = BTreeMap::new();
    for resource in &file.resources {
        match (resource.name.collection(), resource.name.parent()) {
            (_, None) => fleet.extend(writer.fields(&resource.message, true)),
            (collection, Some(parent)) if collection == FITMENTS.collection => {
                fitted
                    .entry(parent)
                    .or_default()
                    .insert(resource.name.id(), resource);
            }
            (collection, _) => {
                sections
                    .entry(collection)
                    .or_default()
                    .insert(resource.name.id(), resource);
            }
        }
    }
    let mut root = vec![
        (WHOLE.to_owned(), Out::Bare(VERSION.to_string())),
        (FLEET.key.to_owned(), Out::Mapping(fleet)),
    ];
    for section in &SECTIONS {
        let Some(resources) = sections.get(section.collection) else {
            continue;
        };
        let entries = resources.iter().map(|(id, resource)| {
            let mut fields = writer.fields(&resource.message, true);
            if section.key == VEHICLES.key
                && let Some(fitted) = fitted.get(&resource.name)
            {
                let fitments = fitted.iter().map(|(slot, fitment)| {
                    (
                        (*slot).to_owned(),
                        Out::Mapping(writer.fields(&fitment.message, true)),
                    )
                });
                fields.push((FITMENTS.key.to_owned(), Out::Mapping(fitments.collect())));
            }
            ((*id).to_owned(), Out::Mapping(fields))
        });
        root.push((section.key.to_owned(), Out::Mapping(entries.collect())));
    }
    document(&Out::Mapping(root)).into_bytes()
}

struct Writer<'a> {
    fleet: &'a str,
}

impl Writer<'_> {
    fn fields(&self, message: &DynamicMessage, resource: bool) -> Vec<(String, Out)> {
        message
            .descriptor()
            .fields()
            .filter(|field| !(resource && is_identity(field)))
            .filter(|field| message.has_field(field) || must_be_written(field))
            .filter_map(|field| {
                let out = self.field(&field, &message.get_field(&field))?;
                Some((field.name().to_owned(), out))
            })
            .collect()
    }

    fn field(&self, field: &FieldDescriptor, value: &Value) -> Option<Out> {
        match value {
            Value::List(values) => Some(Out::Sequence(
                values
                    .iter()
                    .filter_map(|value| self.value(field, &field.kind(), value))
                    .collect(),
            )),
            Value::Map(entries) => {
                let Kind::Message(entry) = field.kind() else {
                    return None;
                };
                let kind = entry.map_entry_value_field().kind();
                let sorted: BTreeMap<&str, &Value> = entries
                    .iter()
                    .filter_map(|(key, value)| Some((key_text(key)?, value)))
                    .collect();
                let entries = sorted
                    .into_iter()
                    .filter_map(|(key, value)| Some((key.to_owned(), self.map_value(field, &kind, value)?)));
                Some(Out::Mapping(entries.collect()))
            }
            value => self.value(field, &field.kind(), value),
        }
    }

    fn map_value(&self, field: &FieldDescriptor, kind: &Kind, value: &Value) -> Option<Out> {
        match value {
            Value::String(text) if text.is_empty() && targets(rule(field)).next().is_some() => {
                Some(Out::Bare("null".to_owned()))
            }
            value => self.value(field, kind, value),
        }
    }

    fn value(&self, field: &FieldDescriptor, kind: &Kind, value: &Value) -> Option<Out> {
        match value {
            Value::Bool(yes) => Some(Out::Bare(yes.to_string())),
            Value::I32(number) => Some(Out::Bare(number.to_string())),
            Value::I64(number) => Some(Out::Bare(number.to_string())),
            Value::F64(number) => Some(Out::Bare(number.to_string())),
            Value::String(text) => {
                let collections: Vec<&str> = targets(rule(field)).collect();
                let text = if collections.is_empty() {
                    text.clone()
                } else {
                    shorten(self.fleet, &collections, text)
                };
                Some(Out::Text(text))
            }
            Value::EnumNumber(number) => {
                let Kind::Enum(enumeration) = kind else {
                    return None;
                };
                let value = enumeration
                    .get_value(*number)
                    .filter(|value| value.number() != 0)?;
                Some(Out::Text(enum_word(enumeration, value.name())))
            }
            Value::Message(message) if is_fact(&message.descriptor()) => Some(fact(message)),
            Value::Message(message) => Some(Out::Mapping(self.fields(message, false))),
            _ => None,
        }
    }
}

fn fact(message: &DynamicMessage) -> Out {
    let descriptor = message.descriptor();
    let set = descriptor.fields().find(|field| message.has_field(field));
    match set.map(|field| message.get_field(&field).into_owned()) {
        Some(Value::Bool(yes)) => Out::Bare(yes.to_string()),
        Some(Value::F64(number)) => Out::Bare(number.to_string()),
        Some(Value::String(text)) => Out::Text(text),
        _ => Out::Bare("null".to_owned()),
    }
}

fn key_text(key: &MapKey) -> Option<&str> {
    key.as_str()
}
