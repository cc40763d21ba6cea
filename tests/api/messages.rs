//! Messages without a type, written as JSON.

use ostler_tests::client::method;
use prost_reflect::{DynamicMessage, MessageDescriptor, ReflectMessage, Value};
use serde_json::Value as Json;

/// The request of a method.
pub(crate) fn request(method_name: &str, fields: Json) -> DynamicMessage {
    message(method(method_name).input(), fields)
}

/// A message.
pub(crate) fn message(descriptor: MessageDescriptor, fields: Json) -> DynamicMessage {
    let name = descriptor.full_name().to_owned();
    DynamicMessage::deserialize(descriptor, &fields)
        .unwrap_or_else(|error| panic!("{fields} is no {name}: {error}"))
}

/// A message as JSON, with the field names of the proto files.
pub(crate) fn json(message: &DynamicMessage) -> Json {
    let options = prost_reflect::SerializeOptions::new().use_proto_field_name(true);
    message
        .serialize_with_options(serde_json::value::Serializer, &options)
        .unwrap()
}

/// A text field.
pub(crate) fn text(message: &DynamicMessage, field: &str) -> String {
    match message.get_field_by_name(field).as_deref() {
        Some(Value::String(text)) => text.clone(),
        other => panic!("{} has {other:?} for {field}", message.descriptor().full_name()),
    }
}

/// The messages of a repeated field.
pub(crate) fn items(message: &DynamicMessage, field: &str) -> Vec<DynamicMessage> {
    match message.get_field_by_name(field).as_deref() {
        Some(Value::List(values)) => values
            .iter()
            .filter_map(|value| value.as_message().cloned())
            .collect(),
        other => panic!("{} has {other:?} for {field}", message.descriptor().full_name()),
    }
}
