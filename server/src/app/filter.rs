//! Filters of lists: conditions `field = "value"` joined by `AND`.

use ostler_core::check::InvalidInput;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind as FieldKind, MessageDescriptor, Value};

use super::AppError;

/// Most conditions of a filter.
const CONDITIONS_MAX: usize = 10;

/// A parsed filter.
#[derive(Debug, Clone)]
pub(super) struct Filter {
    conditions: Vec<(FieldDescriptor, String)>,
}

impl Filter {
    /// Parses `text` for messages of `descriptor`.
    ///
    /// # Errors
    /// When it is not such conditions, or a field is not one to filter by.
    pub(super) fn parse(descriptor: &MessageDescriptor, text: &str) -> Result<Self, AppError> {
        let mut conditions = Vec::new();
        let mut rest = text.trim();
        while !rest.is_empty() {
            let (condition, after) = condition(descriptor, rest).map_err(refuse)?;
            conditions.push(condition);
            if conditions.len() > CONDITIONS_MAX {
                return Err(refuse(format!("must have at most {CONDITIONS_MAX} conditions")));
            }
            rest = after.trim_start();
            if rest.is_empty() {
                break;
            }
            rest = rest
                .strip_prefix("AND ")
                .ok_or_else(|| refuse(format!("must join conditions by AND, has {:?}", shorten(rest))))?
                .trim_start();
        }
        Ok(Self { conditions })
    }

    /// Whether it lets everything through.
    pub(super) fn is_empty(&self) -> bool {
        self.conditions.is_empty()
    }

    /// Whether `message` passes.
    pub(super) fn passes(&self, message: &DynamicMessage) -> bool {
        self.conditions
            .iter()
            .all(|(field, wanted)| equals(field, &message.get_field(field), wanted))
    }
}

fn refuse(problem: impl Into<String>) -> AppError {
    AppError::Invalid(InvalidInput::one("filter", problem))
}

fn shorten(text: &str) -> String {
    text.chars().take(40).collect()
}

fn condition<'a>(
    descriptor: &MessageDescriptor,
    text: &'a str,
) -> Result<((FieldDescriptor, String), &'a str), String> {
    let (name, rest) = text.split_once('=').ok_or_else(|| {
        format!(
            "must be conditions like field = \"value\", has {:?}",
            shorten(text)
        )
    })?;
    let name = name.trim();
    let field = descriptor
        .get_field_by_name(name)
        .filter(|field| !field.is_list() && !field.is_map())
        .filter(|field| {
            matches!(
                field.kind(),
                FieldKind::String | FieldKind::Enum(_) | FieldKind::Bool
            )
        })
        .ok_or_else(|| {
            format!(
                "names {:?}, which is no text, enum or yes-no field",
                shorten(name)
            )
        })?;
    let rest = rest.trim_start();
    let quoted = rest
        .strip_prefix('"')
        .ok_or_else(|| format!("must have a value in quotes after {name} ="))?;
    let (value, after) = quoted
        .split_once('"')
        .ok_or_else(|| "has a quote that does not end".to_owned())?;
    Ok(((field, value.to_owned()), after))
}

fn equals(field: &FieldDescriptor, value: &Value, wanted: &str) -> bool {
    match (value, field.kind()) {
        (Value::String(text), _) => text == wanted,
        (Value::Bool(yes), _) => yes.to_string() == wanted,
        (Value::EnumNumber(number), FieldKind::Enum(enumeration)) => {
            enumeration.get_value(*number).is_some_and(|value| {
                let name = value.name();
                name == wanted
                    || (!wanted.is_empty() && name.ends_with(&format!("_{}", wanted.to_uppercase())))
            })
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ostler_proto::v1;
    use prost_reflect::ReflectMessage;

    #[test]
    fn conditions_are_joined_by_and() {
        let defect = v1::Defect {
            vehicle: "fleets/f/vehicles/v1".to_owned(),
            severity: v1::DefectSeverity::Minor.into(),
            ..v1::Defect::default()
        };
        let passes = |text: &str| {
            Filter::parse(&defect.descriptor(), text)
                .unwrap()
                .passes(&defect.transcode_to_dynamic())
        };
        assert!(passes(""));
        assert!(passes(
            "vehicle = \"fleets/f/vehicles/v1\" AND severity = \"minor\""
        ));
        assert!(!passes("severity=\"DEFECT_SEVERITY_GROUNDING\""));
        for bad in [
            "x",
            "colour = \"red\"",
            "severity = minor",
            "severity = \"minor",
            "measurements = \"1\"",
            "severity = \"minor\" OR severity = \"minor\"",
        ] {
            assert!(Filter::parse(&defect.descriptor(), bad).is_err(), "{bad}");
        }
    }
}
