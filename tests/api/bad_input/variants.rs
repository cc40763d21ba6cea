//! A good request spoiled in one field at a time.

use std::collections::HashMap;
use std::fmt::Display;

use ostler_proto::{DESCRIPTOR_POOL, v1};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MapKey, ReflectMessage, Value};

/// Deepest level that is spoiled; nothing in the API is deeper.
const DEPTH_MAX: usize = 8;

/// Most entries of a list that is made too long.
const ITEMS_MAX: i32 = 200;

/// Fields of requests that hold a name, without a rule that says so.
const NAMES: [&str; 4] = ["name", "parent", "departure", "resource"];

/// A spoiled request.
#[derive(Debug)]
pub(super) struct Variant {
    /// The request.
    pub(super) request: DynamicMessage,
    /// Path of the spoiled field.
    pub(super) path: String,
    /// How it is spoiled.
    pub(super) what: String,
    /// It names something that may not exist, so that not found is right as well.
    pub(super) unknown: bool,
}

/// A message or a value with one fault in it.
struct Spoiled<T> {
    value: T,
    path: String,
    what: String,
    unknown: bool,
}

impl<T> Spoiled<T> {
    fn new(value: T, what: impl Into<String>) -> Self {
        Self {
            value,
            path: String::new(),
            what: what.into(),
            unknown: false,
        }
    }

    /// The same fault in what holds the value, at `step` of it.
    fn within<U>(self, step: &str, hold: impl FnOnce(T) -> U) -> Spoiled<U> {
        Spoiled {
            value: hold(self.value),
            path: format!("{step}{}", self.path),
            what: self.what,
            unknown: self.unknown,
        }
    }
}

/// What stands around a message.
#[derive(Clone, Copy)]
struct Place {
    depth: usize,
    /// The message is a change of something that exists: what is not set stays.
    is_change: bool,
}

/// Every way to spoil one field of a request.
pub(super) fn variants(request: &DynamicMessage) -> Vec<Variant> {
    let place = Place {
        depth: 0,
        is_change: false,
    };
    messages(request, place)
        .into_iter()
        .map(|spoiled| Variant {
            request: spoiled.value,
            path: spoiled.path,
            what: spoiled.what,
            unknown: spoiled.unknown,
        })
        .collect()
}

/// The rule that the contract has for a field.
fn rule(field: &FieldDescriptor) -> v1::FieldRule {
    let extension = DESCRIPTOR_POOL.get_extension_by_name("ostler.v1.rule").unwrap();
    let options = field.options();
    let rule = options.get_extension(&extension);
    rule.as_message().unwrap().transcode_to().unwrap()
}

fn messages(message: &DynamicMessage, place: Place) -> Vec<Spoiled<DynamicMessage>> {
    let descriptor = message.descriptor();
    if place.depth > DEPTH_MAX || !descriptor.full_name().starts_with("ostler.v1.") {
        return Vec::new();
    }
    let mut all = Vec::new();
    for field in descriptor.fields() {
        let rule = rule(&field);
        // The name of a resource counts only in a change of it.
        let ignored = place.depth > 0 && field.name() == "name" && !place.is_change;
        // Of several requests to choose from, the one that the base has chosen.
        let other_choice = field
            .containing_oneof()
            .is_some_and(|oneof| oneof.fields().len() > 1)
            && place.depth > 0
            && field.kind().as_message().is_some()
            && !message.has_field(&field);
        if rule.output_only || ignored || other_choice {
            continue;
        }
        for spoiled in fields(message, &field, &rule, place) {
            all.push(spoiled.within(field.name(), |value| {
                let mut copy = message.clone();
                match value {
                    Some(value) => copy.set_field(&field, value),
                    None => copy.clear_field(&field),
                }
                copy
            }));
        }
    }
    all
}

/// The spoiled values of a field; `None` for none at all.
fn fields(
    message: &DynamicMessage,
    field: &FieldDescriptor,
    rule: &v1::FieldRule,
    place: Place,
) -> Vec<Spoiled<Option<Value>>> {
    let is_name = (place.depth == 0 || place.is_change) && NAMES.contains(&field.name());
    let inner = Place {
        depth: place.depth + 1,
        is_change: place.depth == 0 && message.descriptor().name().starts_with("Update"),
    };
    let values = |kind: Kind, value: &Value| values(kind, value, rule, is_name, inner);
    let mut all = match message.get_field(field).into_owned() {
        Value::List(list) => lists(field, rule, &list, values),
        Value::Map(map) => maps(field, &map, values),
        value => values(field.kind(), &value),
    };
    // What is gone keeps its history, so any name may be asked for there.
    all.retain(|spoiled| !(spoiled.unknown && field.name() == "resource"));
    let mut all: Vec<_> = all.into_iter().map(|spoiled| spoiled.within("", Some)).collect();
    let needed = if place.is_change {
        field.name() == "name"
    } else {
        rule.required
    };
    if needed {
        all.push(Spoiled::new(None, "not set"));
    }
    all
}

fn lists(
    field: &FieldDescriptor,
    rule: &v1::FieldRule,
    list: &[Value],
    values: impl Fn(Kind, &Value) -> Vec<Spoiled<Value>>,
) -> Vec<Spoiled<Value>> {
    let first = list.first().cloned();
    let first = first.unwrap_or_else(|| Value::default_value(&field.kind()));
    let hold = |value| {
        let mut list = list.to_vec();
        list.splice(..list.len().min(1), [value]);
        Value::List(list)
    };
    let spoiled = values(field.kind(), &first).into_iter();
    let mut all: Vec<_> = spoiled.map(|spoiled| spoiled.within("[0]", hold)).collect();
    if let Some(most) = rule.max_items.filter(|most| *most <= ITEMS_MAX) {
        let list = vec![first; usize::try_from(most).unwrap() + 1];
        all.push(Spoiled::new(Value::List(list), "too long"));
    }
    all
}

fn maps(
    field: &FieldDescriptor,
    map: &HashMap<MapKey, Value>,
    values: impl Fn(Kind, &Value) -> Vec<Spoiled<Value>>,
) -> Vec<Spoiled<Value>> {
    let kind = field.kind().as_message().unwrap().map_entry_value_field().kind();
    let (key, first) = match map.iter().next() {
        Some((key, value)) => (key.as_str().unwrap(), value.clone()),
        None => ("key", Value::default_value(&kind)),
    };
    let hold = |key: &str, value| {
        let mut map = map.clone();
        map.insert(MapKey::String(key.into()), value);
        Value::Map(map)
    };
    let spoiled = values(kind, &first).into_iter();
    let mut all: Vec<_> = spoiled
        .map(|spoiled| spoiled.within(&format!("[{key:?}]"), |value| hold(key, value)))
        .collect();
    for key in ["Bad Key", "", "a\u{0}b"] {
        let spoiled = Spoiled::new(first.clone(), "key");
        all.push(spoiled.within(&format!("[{key:?}]"), |value| hold(key, value)));
    }
    all
}

fn values(
    kind: Kind,
    value: &Value,
    rule: &v1::FieldRule,
    is_name: bool,
    inner: Place,
) -> Vec<Spoiled<Value>> {
    fn each<T: Copy + Display>(bad: &[T], value: fn(T) -> Value) -> Vec<Spoiled<Value>> {
        bad.iter()
            .map(|bad| Spoiled::new(value(*bad), bad.to_string()))
            .collect()
    }
    match (kind, value) {
        (Kind::Double, _) => each(&numbers(rule), Value::F64),
        (Kind::Int32, _) => each(&[i32::MIN, i32::MAX], Value::I32),
        (Kind::Int64, _) => each(&[i64::MIN, i64::MAX], Value::I64),
        (Kind::Enum(_), _) => each(&[-1, 999, i32::MAX], Value::EnumNumber),
        (Kind::String, Value::String(good)) => texts(rule, good, is_name),
        (Kind::Message(_), Value::Message(message)) => {
            let spoiled = messages(message, inner).into_iter();
            spoiled
                .map(|spoiled| spoiled.within(".", Value::Message))
                .collect()
        }
        _ => Vec::new(),
    }
}

fn numbers(rule: &v1::FieldRule) -> Vec<f64> {
    let mut bad = vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300];
    if let Some(least) = rule.min {
        bad.push(least - 1.0);
        if rule.above_min {
            bad.push(least);
        }
    }
    bad.extend(rule.max.map(|most| most * 1.001 + 1.0));
    bad
}

fn texts(rule: &v1::FieldRule, good: &str, is_name: bool) -> Vec<Spoiled<Value>> {
    let most = usize::try_from(rule.max_length.unwrap_or(1_000)).unwrap();
    let mut bad = vec![
        "x".repeat(most + 1),
        "é".repeat(most + 1),
        "bell\u{7}".into(),
        "nul\u{0}".into(),
        "\u{85}".into(),
    ];
    bad.extend(forms(&rule.form).iter().map(|text| (*text).to_owned()));
    let target = rule.refers_to_any.first().unwrap_or(&rule.refers_to);
    if is_name || !target.is_empty() {
        let names = [
            "nonsense",
            "fleets/",
            "/",
            "fleets/orrin/wrong/x",
            "fleets/../x",
            "FLEETS/orrin",
            " ",
            "fleets//vehicles/x",
            "fleets/orrin/vehicles/v1/",
        ];
        bad.extend(names.map(str::to_owned));
    }
    let mut all: Vec<Spoiled<Value>> = bad
        .into_iter()
        .map(|text| {
            let what = format!("{:?}", text.chars().take(24).collect::<String>());
            Spoiled::new(Value::String(text), what)
        })
        .collect();
    let unknown = match (is_name, target.as_str()) {
        (true, _) => good
            .rsplit_once('/')
            .map(|(parent, _)| format!("{parent}/no-such")),
        (_, "") => None,
        (_, target) => Some(format!("fleets/orrin/{}/no-such", target.replace('*', "v1"))),
    };
    all.extend(unknown.map(|name| Spoiled {
        unknown: true,
        ..Spoiled::new(Value::String(name.clone()), name)
    }));
    all
}

/// Texts that do not have a form.
fn forms(form: &str) -> &'static [&'static str] {
    match form {
        "id" => &[
            "Not An Id",
            "-x",
            "x-",
            "a/b",
            "ä",
            "x234567890123456789012345678901234567890123456789012345678901234",
        ],
        "date" => &[
            "2027-02-30",
            "27-01-01",
            "2027/01/01",
            "tomorrow",
            "2027-1-1",
            "2027-01-01T00:00",
            "1492-10-12",
            "12027-01-01",
        ],
        "time_of_day" => &["24:00", "7:00", "07:60", "noon", "07:00:00"],
        "uuid" => &[
            "not-a-uuid",
            "1",
            "0e9d7f6a-0000-4000-8000-00000000000",
            "0e9d7f6a-0000-4000-8000-00000000000g",
        ],
        _ => &[],
    }
}
