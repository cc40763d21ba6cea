//! Records as flat rows: columns from the descriptor, cells from the message.

use prost_reflect::{
    DynamicMessage, FieldDescriptor, Kind as FieldKind, MapKey, MessageDescriptor, ReflectMessage, Value,
};

use crate::output::{Cell, word};

/// How deep messages of the API nest; deeper ones come as JSON.
const DEPTH_MAX: usize = 6;

/// Names of the columns of records of `descriptor`: field paths joined by `.`. They depend on nothing else.
pub(crate) fn headers(descriptor: &MessageDescriptor) -> Vec<String> {
    let mut headers = Vec::new();
    collect_headers(descriptor, "", 0, &mut headers);
    headers
}

fn collect_headers(descriptor: &MessageDescriptor, prefix: &str, depth: usize, headers: &mut Vec<String>) {
    for field in descriptor.fields() {
        let path = format!("{prefix}{}", field.name());
        match nested(&field, depth) {
            Some(inner) => collect_headers(&inner, &format!("{path}."), depth + 1, headers),
            None => headers.push(path),
        }
    }
}

/// The cells of `message` under `headers` of its descriptor.
pub(crate) fn row(message: &DynamicMessage) -> Vec<Cell> {
    let mut cells = Vec::new();
    collect_row(&message.descriptor(), Some(message), 0, &mut cells);
    cells
}

fn collect_row(
    descriptor: &MessageDescriptor,
    message: Option<&DynamicMessage>,
    depth: usize,
    cells: &mut Vec<Cell>,
) {
    for field in descriptor.fields() {
        let value = message
            .filter(|message| is_stated(message, &field))
            .map(|message| message.get_field(&field));
        match nested(&field, depth) {
            Some(inner) => {
                let message = value.as_deref().and_then(Value::as_message);
                collect_row(&inner, message, depth + 1, cells);
            }
            None => cells.push(value.map_or(Cell::None(""), |value| cell(&field, &value))),
        }
    }
}

/// Every value that `message` states, with its path, in the order of the fields.
pub(crate) fn leaves(message: &DynamicMessage) -> Vec<(String, Cell)> {
    let mut leaves = Vec::new();
    collect_leaves(message, "", &mut leaves);
    leaves
}

fn collect_leaves(message: &DynamicMessage, prefix: &str, leaves: &mut Vec<(String, Cell)>) {
    for field in message.descriptor().fields() {
        if !message.has_field(&field) {
            continue;
        }
        let path = format!("{prefix}{}", field.name());
        let value = message.get_field(&field);
        match value.as_ref() {
            Value::List(items) => {
                for (index, item) in items.iter().enumerate() {
                    collect_leaf(&field.kind(), item, format!("{path}[{index}]"), leaves);
                }
            }
            Value::Map(entries) => {
                let kind = value_kind(&field);
                for (key, item) in sorted(entries) {
                    collect_leaf(&kind, item, format!("{path}.{key}"), leaves);
                }
            }
            single => collect_leaf(&field.kind(), single, path, leaves),
        }
    }
}

fn collect_leaf(kind: &FieldKind, value: &Value, path: String, leaves: &mut Vec<(String, Cell)>) {
    match value {
        Value::Message(inner) if !is_well_known(&inner.descriptor()) => {
            collect_leaves(inner, &format!("{path}."), leaves);
        }
        _ => leaves.push((path, single_cell(kind, value))),
    }
}

/// Whether a field says something: it is set, or it is a number or a yes-no that is always there.
fn is_stated(message: &DynamicMessage, field: &FieldDescriptor) -> bool {
    message.has_field(field)
        || !(field.supports_presence()
            || field.is_list()
            || field.is_map()
            || matches!(
                field.kind(),
                FieldKind::Enum(_) | FieldKind::String | FieldKind::Bytes
            ))
}

/// The message of a field whose own fields become columns.
fn nested(field: &FieldDescriptor, depth: usize) -> Option<MessageDescriptor> {
    match field.kind() {
        FieldKind::Message(inner)
            if !field.is_list() && !field.is_map() && depth < DEPTH_MAX && !is_well_known(&inner) =>
        {
            Some(inner)
        }
        _ => None,
    }
}

fn is_well_known(descriptor: &MessageDescriptor) -> bool {
    descriptor.package_name() == "google.protobuf"
}

fn value_kind(field: &FieldDescriptor) -> FieldKind {
    match field.kind() {
        FieldKind::Message(entry) if field.is_map() => entry.map_entry_value_field().kind(),
        kind => kind,
    }
}

/// The cell of a field. Lists are joined by `; `, maps are `key=value` joined by `; `.
pub(crate) fn cell(field: &FieldDescriptor, value: &Value) -> Cell {
    match value {
        Value::List(items) => Cell::list(
            &items
                .iter()
                .map(|item| text(&field.kind(), item))
                .collect::<Vec<_>>(),
        ),
        Value::Map(entries) => {
            let kind = value_kind(field);
            let texts: Vec<_> = sorted(entries)
                .into_iter()
                .map(|(key, item)| format!("{key}={}", text(&kind, item)))
                .collect();
            Cell::list(&texts)
        }
        single => single_cell(&field.kind(), single),
    }
}

fn single_cell(kind: &FieldKind, value: &Value) -> Cell {
    match value {
        Value::F64(number) => Cell::Number(*number),
        Value::F32(number) => Cell::Number(f64::from(*number)),
        Value::I32(number) => Cell::Count(i64::from(*number)),
        Value::I64(number) => Cell::Count(*number),
        other => Cell::Text(text(kind, other)),
    }
}

fn text(kind: &FieldKind, value: &Value) -> String {
    match (value, kind) {
        (Value::String(text), _) => text.clone(),
        (Value::Bool(yes), _) => if *yes { "yes" } else { "no" }.to_owned(),
        (Value::EnumNumber(number), FieldKind::Enum(enumeration)) => {
            enumeration.get_value(*number).map_or_else(
                || number.to_string(),
                |value| word(enumeration.name(), value.name()),
            )
        }
        (Value::F64(number), _) => number.to_string(),
        (Value::I32(number), _) => number.to_string(),
        (Value::I64(number), _) => number.to_string(),
        (Value::Message(message), _) => match serde_json::to_value(message) {
            Ok(serde_json::Value::String(text)) => text,
            Ok(json) => json.to_string(),
            Err(_) => String::new(),
        },
        (Value::Bytes(bytes), _) => format!("{} bytes", bytes.len()),
        _ => String::new(),
    }
}

fn sorted(entries: &std::collections::HashMap<MapKey, Value>) -> Vec<(String, &Value)> {
    let mut sorted: Vec<_> = entries
        .iter()
        .map(|(key, value)| (key_text(key), value))
        .collect();
    sorted.sort_by(|one, other| one.0.cmp(&other.0));
    sorted
}

fn key_text(key: &MapKey) -> String {
    match key {
        MapKey::String(text) => text.clone(),
        MapKey::Bool(yes) => yes.to_string(),
        MapKey::I32(number) => number.to_string(),
        MapKey::I64(number) => number.to_string(),
        MapKey::U32(number) => number.to_string(),
        MapKey::U64(number) => number.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinds::Kind;
    use clap::ValueEnum;
    use ostler_proto::v1;
    use prost_types::Timestamp;

    fn item() -> v1::CargoItem {
        v1::CargoItem {
            name: "fleets/orrin/cargoItems/c1".to_owned(),
            create_time: Some(Timestamp { seconds: 0, nanos: 0 }),
            display_name: "Water drum".to_owned(),
            quantity: 2,
            unit_mass: Some(v1::Mass {
                mass_kg: 21.5,
                provenance: v1::MassProvenance::Weighed.into(),
                tolerance_kg: None,
            }),
            shared_with: vec![
                "fleets/orrin/vehicles/v2".to_owned(),
                "fleets/orrin/vehicles/v3".to_owned(),
            ],
            ..Default::default()
        }
    }

    #[test]
    fn rows_are_as_long_as_headers_whatever_is_set() {
        for kind in Kind::value_variants() {
            let resource = kind.methods().unwrap().resource;
            assert_eq!(
                row(&DynamicMessage::new(resource.clone())).len(),
                headers(&resource).len(),
                "{kind:?}"
            );
        }
        let full = item().transcode_to_dynamic();
        assert_eq!(row(&full).len(), headers(&full.descriptor()).len());
    }

    #[test]
    fn what_is_stated_is_in_the_row_and_what_is_not_is_empty() {
        let message = item().transcode_to_dynamic();
        let headers = headers(&message.descriptor());
        let row = row(&message);
        let at = |name: &str| &row[headers.iter().position(|header| header == name).unwrap()];
        assert_eq!(at("unit_mass.mass_kg"), &Cell::Number(21.5));
        assert_eq!(at("unit_mass.provenance"), &Cell::text("weighed"));
        assert_eq!(at("unit_mass.tolerance_kg"), &Cell::None(""));
        assert_eq!(at("position.x_mm"), &Cell::None(""));
        assert_eq!(at("create_time"), &Cell::text("1970-01-01T00:00:00Z"));
        assert_eq!(at("critical"), &Cell::text("no"));
        assert_eq!(
            at("shared_with"),
            &Cell::text("fleets/orrin/vehicles/v2; fleets/orrin/vehicles/v3")
        );
    }

    #[test]
    fn leaves_have_paths_as_faults_name_them() {
        let substitution = v1::Substitution {
            replacements: vec![v1::Replacement {
                slot: "gearbox".to_owned(),
                ..Default::default()
            }],
            ..Default::default()
        };
        assert_eq!(
            leaves(&substitution.transcode_to_dynamic()),
            [("replacements[0].slot".to_owned(), Cell::text("gearbox"))]
        );
    }
}
