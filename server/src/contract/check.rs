//! Checks a message against its contract.

use ostler_core::check::{Check, InvalidInput};
use ostler_core::record::{Name, is_id};
use ostler_proto::v1;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MapKey, ReflectMessage, Value};

use super::rules::{ITEMS_MAX, LENGTH_MAX, MAGNITUDE_MAX, collection_of, rule, targets};

/// Deepest nesting of messages that is looked at.
const DEPTH_MAX: usize = 20;

/// Whether required fields must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// Everywhere, also in what only the server sets: a resource as the record holds it.
    Record,
    /// Everywhere.
    Full,
    /// At the top of the message only: the rest is a change of something that exists.
    Top,
}

/// Checks a request.
///
/// # Errors
/// All violations of forms, ranges and required fields, with their paths.
pub fn check(message: &impl ReflectMessage, presence: Presence) -> Result<(), InvalidInput> {
    check_within("", message, presence)
}

/// Checks a message, its violations below `parent`.
///
/// # Errors
/// As [`check`].
pub fn check_within(
    parent: &str,
    message: &impl ReflectMessage,
    presence: Presence,
) -> Result<(), InvalidInput> {
    let mut walk = Walk {
        check: Check::new(),
        presence,
    };
    walk.message(parent, &message.transcode_to_dynamic(), 0);
    walk.check.finish()
}

struct Walk {
    check: Check,
    presence: Presence,
}

impl Walk {
    fn message(&mut self, path: &str, message: &DynamicMessage, depth: usize) {
        if depth > DEPTH_MAX {
            self.check
                .refuse(path, format!("is nested deeper than {DEPTH_MAX} levels"));
            return;
        }
        if !message.descriptor().full_name().starts_with("ostler.v1.") {
            return;
        }
        for field in message.descriptor().fields() {
            let field_rule = rule(&field);
            if field_rule.output_only && self.presence != Presence::Record {
                continue;
            }
            let path = join(path, field.name());
            // In a change, what is not set stays as it is; the outcome is checked whole.
            let stays = depth > 0 && self.presence == Presence::Top;
            if !message.has_field(&field) {
                if field_rule.required && !stays {
                    self.check.refuse(&path, "must be set");
                } else if stays || field.supports_presence() || field.is_list() || field.is_map() {
                    continue;
                }
            }
            self.field(&path, &field, field_rule, &message.get_field(&field), depth);
        }
    }

    fn field(
        &mut self,
        path: &str,
        field: &FieldDescriptor,
        field_rule: &v1::FieldRule,
        value: &Value,
        depth: usize,
    ) {
        match value {
            Value::List(values) => {
                self.size(path, field_rule, values.len());
                for (index, value) in values.iter().enumerate().take(ITEMS_MAX) {
                    self.value(&format!("{path}[{index}]"), field, field_rule, value, depth);
                }
            }
            Value::Map(entries) => {
                self.size(path, field_rule, entries.len());
                let mut keys: Vec<_> = entries.iter().take(ITEMS_MAX).collect();
                keys.sort_by_key(|(key, _)| key_text(key));
                for (key, value) in keys {
                    let key = key_text(key);
                    let path = format!("{path}[{key:?}]");
                    if !is_id(&key) {
                        self.check.refuse(
                            &path,
                            "must have a key of lower-case letters, digits, `-`, `_` or `.`",
                        );
                    }
                    self.value(&path, field, field_rule, value, depth);
                }
            }
            value => self.value(path, field, field_rule, value, depth),
        }
    }

    fn size(&mut self, path: &str, field_rule: &v1::FieldRule, count: usize) {
        let most = field_rule
            .max_items
            .and_then(|most| usize::try_from(most).ok())
            .unwrap_or(ITEMS_MAX);
        if count > most {
            self.check
                .refuse(path, format!("must have at most {most} entries, has {count}"));
        }
    }

    fn value(
        &mut self,
        path: &str,
        field: &FieldDescriptor,
        rule: &v1::FieldRule,
        value: &Value,
        depth: usize,
    ) {
        match value {
            Value::F64(number) => self.number(path, rule, *number),
            Value::F32(number) => self.number(path, rule, f64::from(*number)),
            Value::I32(number) => self.number(path, rule, f64::from(*number)),
            #[expect(
                clippy::cast_precision_loss,
                reason = "only compared with limits far below 2^53"
            )]
            Value::I64(number) => self.number(path, rule, *number as f64),
            Value::String(text) => self.text(path, rule, text),
            Value::EnumNumber(number) => self.enumeration(path, field, *number),
            Value::Message(message) => self.message(path, message, depth + 1),
            _ => {}
        }
    }

    fn number(&mut self, path: &str, rule: &v1::FieldRule, number: f64) {
        let least = rule.min.unwrap_or(-MAGNITUDE_MAX);
        let most = rule.max.unwrap_or(MAGNITUDE_MAX);
        if rule.above_min && number == least {
            self.check.refuse(
                path,
                format!("must be greater than {least} and at most {most}, is {number}"),
            );
        } else if !(number.is_finite() && (least..=most).contains(&number)) {
            self.check.refuse(
                path,
                format!("must be a number from {least} to {most}, is {number}"),
            );
        }
    }

    fn text(&mut self, path: &str, rule: &v1::FieldRule, text: &str) {
        let most = rule
            .max_length
            .and_then(|most| usize::try_from(most).ok())
            .unwrap_or(LENGTH_MAX);
        let length = text.chars().count();
        if length > most {
            self.check
                .refuse(path, format!("must have at most {most} characters, has {length}"));
            return;
        }
        if text
            .chars()
            .any(|character| character.is_control() && !matches!(character, '\n' | '\t'))
        {
            self.check.refuse(
                path,
                "must not have control characters other than line breaks and tabs",
            );
            return;
        }
        if text.is_empty() {
            return;
        }
        if let Some(problem) = form_problem(&rule.form, text) {
            self.check.refuse(path, problem);
        }
        let mut collections = targets(rule).peekable();
        if collections.peek().is_some() {
            let collections: Vec<&str> = collections.collect();
            let fits = Name::new(text).is_ok_and(|name| collections.contains(&collection_of(&name).as_str()));
            if !fits {
                let example = format!("fleets/*/{}/*", collections[0]);
                self.check.refuse(
                    path,
                    format!("must be a resource name like `{example}`, is {text:?}"),
                );
            }
        }
    }

    fn enumeration(&mut self, path: &str, field: &FieldDescriptor, number: i32) {
        let kind = match field.kind() {
            Kind::Message(entry) if field.is_map() => entry.map_entry_value_field().kind(),
            kind => kind,
        };
        if let Kind::Enum(enumeration) = kind
            && enumeration.get_value(number).is_none()
        {
            self.check.refuse(
                path,
                format!("must be a value of {}, is {number}", enumeration.name()),
            );
        }
    }
}

fn form_problem(form: &str, text: &str) -> Option<String> {
    let (holds, description) = match form {
        "id" => (
            is_id(text),
            "1 to 63 lower-case letters, digits, `-`, `_` or `.`, starting and ending with a letter or digit",
        ),
        "date" => (is_date(text), "a date YYYY-MM-DD"),
        "time_of_day" => (is_time_of_day(text), "a time of day HH:MM"),
        "uuid" => (uuid::Uuid::try_parse(text).is_ok(), "a UUID"),
        _ => (true, ""),
    };
    (!holds).then(|| format!("must be {description}, is {text:?}"))
}

fn is_date(text: &str) -> bool {
    text.len() == 10
        && text
            .parse::<ostler_core::record::Date>()
            .is_ok_and(|date| date.year() >= 1900)
}

fn is_time_of_day(text: &str) -> bool {
    text.len() == 5 && jiff::civil::Time::strptime("%H:%M", text).is_ok()
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

fn join(parent: &str, field: &str) -> String {
    if parent.is_empty() {
        field.to_owned()
    } else {
        format!("{parent}.{field}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(refused: Result<(), InvalidInput>) -> Vec<String> {
        refused
            .unwrap_err()
            .violations
            .into_iter()
            .map(|violation| violation.field)
            .collect()
    }

    #[test]
    fn all_violations_are_found_at_once_with_their_paths() {
        let tank = v1::Tank {
            id: "Bad Id".to_owned(),
            fluid: 99,
            capacity_l: f64::NAN,
            position: Some(v1::Position {
                x_mm: f64::INFINITY,
                y_mm: 0.0,
                z_mm: None,
            }),
            mounting: v1::TankMounting::Fixed.into(),
            ..v1::Tank::default()
        };
        let request = v1::CreateVehicleRequest {
            vehicle: Some(v1::Vehicle {
                display_name: "x".repeat(201),
                specification: Some(v1::Specification {
                    wheelbase_mm: Some(-3.0),
                    tanks: vec![tank],
                    ..v1::Specification::default()
                }),
                baseline_weighing: "fleets/orrin/parts/p1".to_owned(),
                ..v1::Vehicle::default()
            }),
            request_id: "not-a-uuid".to_owned(),
            ..v1::CreateVehicleRequest::default()
        };
        assert_eq!(
            fields(check(&request, Presence::Full)),
            [
                "parent",
                "vehicle_id",
                "vehicle.display_name",
                "vehicle.specification.wheelbase_mm",
                "vehicle.specification.tanks[0].id",
                "vehicle.specification.tanks[0].fluid",
                "vehicle.specification.tanks[0].capacity_l",
                "vehicle.specification.tanks[0].position.x_mm",
                "vehicle.baseline_weighing",
                "request_id",
            ]
        );
    }

    #[test]
    fn a_change_need_not_be_whole() {
        let request = v1::UpdateVehicleRequest {
            vehicle: Some(v1::Vehicle {
                role: "sweep".to_owned(),
                ..v1::Vehicle::default()
            }),
            ..v1::UpdateVehicleRequest::default()
        };
        assert!(check(&request, Presence::Top).is_ok());
        assert!(check(&request, Presence::Full).is_err());
        // A number without presence that is not set reads as 0, which its range may not allow.
        let request = v1::UpdateCargoItemRequest {
            cargo_item: Some(v1::CargoItem {
                zone: "bed".to_owned(),
                ..v1::CargoItem::default()
            }),
            ..v1::UpdateCargoItemRequest::default()
        };
        assert!(check(&request, Presence::Top).is_ok());
        assert!(fields(check(&request, Presence::Full)).contains(&"cargo_item.quantity".to_owned()));
    }

    #[test]
    fn a_record_is_checked_in_what_only_the_server_sets() {
        let defect = v1::Defect {
            vehicle: "fleets/f/vehicles/v".to_owned(),
            description: "leak".to_owned(),
            severity: v1::DefectSeverity::Minor.into(),
            accepted_condition: Some(v1::AcceptedCondition::default()),
            fix: "x".repeat(1_001),
            ..v1::Defect::default()
        };
        assert!(check(&defect, Presence::Full).is_ok());
        assert_eq!(
            fields(check(&defect, Presence::Record)),
            [
                "accepted_condition.condition",
                "accepted_condition.owner",
                "accepted_condition.check_interval",
                "accepted_condition.accepted_by",
                "accepted_condition.accepted_date",
                "fix",
            ]
        );
    }

    #[test]
    fn map_keys_and_values_are_checked() {
        let part = v1::Part {
            display_name: "spring".to_owned(),
            kind: "spring".to_owned(),
            figures: [
                ("rate_n_per_mm".to_owned(), f64::NEG_INFINITY),
                ("Bad".to_owned(), 1.0),
            ]
            .into(),
            ..v1::Part::default()
        };
        assert_eq!(
            fields(check(&part, Presence::Full)),
            ["figures[\"Bad\"]", "figures[\"rate_n_per_mm\"]"]
        );
    }
}
