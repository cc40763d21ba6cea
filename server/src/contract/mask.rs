//! Field masks: which fields of a resource a change touches.

use ostler_core::check::{Check, InvalidInput};
use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage, Value};

use super::rules::rule;

/// Fields that identify a resource rather than belong to it.
const IDENTITY: [&str; 4] = ["name", "etag", "create_time", "update_time"];

/// The resource `current` with the fields of `change` that `paths` name.
///
/// Without a mask, the fields that are set in `change` are taken over; with `*`, all are, so that
/// unset fields are cleared. Output-only and identity fields stay as they are.
///
/// # Errors
/// A path that names no field of the resource, or one that the server sets.
pub fn merge(
    current: &DynamicMessage,
    change: &DynamicMessage,
    paths: Option<&[String]>,
) -> Result<DynamicMessage, InvalidInput> {
    let mut merged = current.clone();
    let mut check = Check::new();
    match paths {
        None | Some([]) => {
            for field in open_fields(change).filter(|field| change.has_field(field)) {
                merged.set_field(&field, change.get_field(&field).into_owned());
            }
        }
        Some([path]) if path == "*" => {
            for field in open_fields(change) {
                copy(&mut merged, change, &field);
            }
        }
        Some(paths) => {
            for (index, path) in paths.iter().enumerate() {
                let steps: Vec<&str> = path.split('.').collect();
                if let Err(problem) = merge_path(&mut merged, change, &steps) {
                    check.refuse(format!("update_mask.paths[{index}]"), problem);
                }
            }
        }
    }
    check.finish()?;
    Ok(merged)
}

fn open_fields(message: &DynamicMessage) -> impl Iterator<Item = FieldDescriptor> {
    let descriptor = message.descriptor();
    let fields: Vec<_> = descriptor.fields().filter(|field| !is_closed(field)).collect();
    fields.into_iter()
}

fn is_closed(field: &FieldDescriptor) -> bool {
    rule(field).output_only || IDENTITY.contains(&field.name())
}

fn copy(merged: &mut DynamicMessage, change: &DynamicMessage, field: &FieldDescriptor) {
    if change.has_field(field) {
        merged.set_field(field, change.get_field(field).into_owned());
    } else {
        merged.clear_field(field);
    }
}

fn merge_path(merged: &mut DynamicMessage, change: &DynamicMessage, steps: &[&str]) -> Result<(), String> {
    let [step, rest @ ..] = steps else {
        return Err("must not be empty".to_owned());
    };
    let descriptor = merged.descriptor();
    let field = descriptor
        .get_field_by_name(step)
        .ok_or_else(|| format!("names no field: {} has no {step:?}", descriptor.name()))?;
    if is_closed(&field) {
        return Err(format!("names {step:?}, which the server sets"));
    }
    if rest.is_empty() {
        copy(merged, change, &field);
        return Ok(());
    }
    if field.is_list() || field.is_map() || field.kind().as_message().is_none() {
        return Err(format!("goes below {step:?}, which can only be changed whole"));
    }
    let below = change.get_field(&field);
    let Value::Message(below) = below.as_ref() else {
        return Err(format!("goes below {step:?}"));
    };
    match merged.get_field_mut(&field) {
        Value::Message(inner) => merge_path(inner, below, rest),
        _ => Err(format!("goes below {step:?}")),
    }
}

/// Clears what only the server sets, so that a request cannot.
pub fn clear_output_only(message: &mut DynamicMessage) {
    let descriptor = message.descriptor();
    for field in descriptor.fields().filter(is_closed) {
        message.clear_field(&field);
    }
}

/// The immutable fields that a change would alter, by name.
pub fn unchangeable(before: &DynamicMessage, after: &DynamicMessage) -> Vec<String> {
    let descriptor = before.descriptor();
    descriptor
        .fields()
        .filter(|field| rule(field).immutable && before.has_field(field))
        .filter(|field| before.get_field(field) != after.get_field(field))
        .map(|field| field.name().to_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ostler_proto::v1;

    fn vehicle() -> v1::Vehicle {
        v1::Vehicle {
            name: "fleets/f/vehicles/v".to_owned(),
            etag: "7".to_owned(),
            display_name: "wagon".to_owned(),
            role: "lead".to_owned(),
            specification: Some(v1::Specification {
                wheelbase_mm: Some(2850.0),
                gross_mass_kg: Some(3800.0),
                ..v1::Specification::default()
            }),
            ..v1::Vehicle::default()
        }
    }

    fn merged(change: &v1::Vehicle, paths: Option<&[&str]>) -> Result<v1::Vehicle, InvalidInput> {
        let paths = paths.map(|paths| paths.iter().map(|path| (*path).to_owned()).collect::<Vec<_>>());
        merge(
            &vehicle().transcode_to_dynamic(),
            &change.transcode_to_dynamic(),
            paths.as_deref(),
        )
        .map(|merged| merged.transcode_to().unwrap())
    }

    #[test]
    fn a_mask_touches_what_it_names() {
        let change = v1::Vehicle {
            display_name: "other".to_owned(),
            specification: Some(v1::Specification {
                wheelbase_mm: Some(2900.0),
                ..Default::default()
            }),
            ..Default::default()
        };
        let one = merged(&change, Some(&["specification.wheelbase_mm"])).unwrap();
        assert_eq!(one.display_name, "wagon");
        assert_eq!(one.specification.as_ref().unwrap().wheelbase_mm, Some(2900.0));
        assert_eq!(one.specification.unwrap().gross_mass_kg, Some(3800.0));

        let populated = merged(&change, None).unwrap();
        assert_eq!(
            (populated.display_name.as_str(), populated.role.as_str()),
            ("other", "lead")
        );

        let all = merged(&change, Some(&["*"])).unwrap();
        assert_eq!((all.role.as_str(), all.etag.as_str()), ("", "7"));
    }

    #[test]
    fn a_wrong_path_is_refused() {
        for path in ["colour", "name", "etag", "specification.tanks.capacity_l", ""] {
            assert!(merged(&v1::Vehicle::default(), Some(&[path])).is_err(), "{path}");
        }
    }
}
