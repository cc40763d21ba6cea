//! JSON that reads the same every time: fields in the order of the API, keys of maps sorted.

use prost_reflect::{DynamicMessage, Kind, MessageDescriptor, ReflectMessage as _};
use serde_json::Value;

use crate::errors::CliError;

/// The JSON form of an answer.
///
/// # Errors
/// When it has none.
pub(super) fn text(message: &DynamicMessage) -> Result<String, CliError> {
    let answer = |error: serde_json::Error| CliError::Answer {
        problem: format!("it has no JSON form: {error}"),
    };
    let mut value = serde_json::to_value(message).map_err(answer)?;
    sort_maps(&mut value, &message.descriptor());
    serde_json::to_string_pretty(&value).map_err(answer)
}

/// Messages keep maps in no order of their own.
fn sort_maps(value: &mut Value, descriptor: &MessageDescriptor) {
    let Value::Object(fields) = value else { return };
    for field in descriptor.fields() {
        let Some(value) = fields.get_mut(field.json_name()) else {
            continue;
        };
        let Kind::Message(inner) = field.kind() else {
            continue;
        };
        match value {
            Value::Object(entries) if field.is_map() => {
                entries.sort_keys();
                if let Kind::Message(held) = inner.map_entry_value_field().kind() {
                    for entry in entries.values_mut() {
                        sort_maps(entry, &held);
                    }
                }
            }
            Value::Array(elements) => {
                for element in elements {
                    sort_maps(element, &inner);
                }
            }
            value => sort_maps(value, &inner),
        }
    }
}

#[cfg(test)]
mod tests {
    use ostler_proto::v1;

    use super::*;

    #[test]
    fn keys_of_maps_are_sorted_and_fields_are_not() {
        let leg = v1::Leg {
            id: "l1".to_owned(),
            start_place: "Dray Bore".to_owned(),
            surface_km: ["sand", "gravel", "dunes", "rocky", "claypan"]
                .map(|surface| (surface.to_owned(), 1.0))
                .into(),
            ..Default::default()
        };
        let departure = v1::Departure {
            legs: vec![leg],
            ..Default::default()
        };
        let text = text(&departure.transcode_to_dynamic()).unwrap();
        let places: Vec<usize> = [
            "\"id\"",
            "startPlace",
            "claypan",
            "dunes",
            "gravel",
            "rocky",
            "sand",
        ]
        .map(|word| text.find(word).unwrap())
        .to_vec();
        assert!(places.is_sorted(), "{text}");
    }
}
