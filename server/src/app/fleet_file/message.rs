//! From nodes to messages, led by the descriptors of the API.

use std::collections::{BTreeMap, HashMap};

use ostler_core::record::{Name, is_id};
use prost_reflect::{
    DynamicMessage, EnumDescriptor, FieldDescriptor, Kind, MapKey, MessageDescriptor, Value,
};

use super::faults::{Faults, suggestion};
use super::fields::{enum_word, is_fact, is_identity, must_be_written, shared_oneof};
use super::node::{Content, Key, Node, Place, Plain, plain};
use super::sections::expand;
use crate::contract::{rule, targets};

/// Most characters of a text that a fault repeats.
const SHOWN_MAX: usize = 60;

/// Reads the nodes of one resource.
pub(super) struct Reader<'a> {
    /// The fleet that references are in.
    pub(super) fleet: &'a Name,
    /// Path of the resource in the file.
    pub(super) root: String,
    /// Places of the resource's fields, by their paths in it.
    pub(super) places: BTreeMap<String, Place>,
    /// What is wrong so far.
    pub(super) faults: &'a mut Faults,
}

impl Reader<'_> {
    fn refuse(&mut self, path: &str, place: Place, problem: impl std::fmt::Display) {
        let path = join(&self.root, path);
        self.faults.refuse(&path, place, problem);
    }

    /// Reads a message. The keys of `besides` are left to the caller.
    pub(super) fn message(
        &mut self,
        path: &str,
        descriptor: &MessageDescriptor,
        place: Place,
        entries: &[(Key, Node)],
        besides: &[&str],
    ) -> DynamicMessage {
        let mut message = DynamicMessage::new(descriptor.clone());
        self.places.insert(path.to_owned(), place);
        for (key, node) in self.once(path, entries) {
            if besides.contains(&key.text.as_str()) {
                continue;
            }
            let Some(field) = self.known_field(path, descriptor, besides, key) else {
                continue;
            };
            let at = join(path, field.name());
            self.places.insert(at.clone(), node.place);
            if is_null(node) {
                continue;
            }
            if let Some(other) =
                shared_oneof(&field).and_then(|oneof| oneof.fields().find(|other| message.has_field(other)))
            {
                self.refuse(&at, key.place, format!("cannot stand beside `{}`", other.name()));
                continue;
            }
            if let Some(value) = self.field(&at, &field, node) {
                message.set_field(&field, value);
            }
        }
        let written = |field: &FieldDescriptor| {
            entries
                .iter()
                .any(|(key, node)| key.text == field.name() && !is_null(node))
        };
        for field in descriptor
            .fields()
            .filter(|field| must_be_written(field) && !written(field))
        {
            let at = join(path, field.name());
            self.refuse(
                &at,
                place,
                "must be set; a number that is left out is not taken for 0",
            );
        }
        message
    }

    /// The entries with each key once.
    pub(super) fn once<'n>(&mut self, path: &str, entries: &'n [(Key, Node)]) -> Vec<(&'n Key, &'n Node)> {
        let mut first: HashMap<&str, Place> = HashMap::new();
        let mut kept = Vec::with_capacity(entries.len());
        for (key, node) in entries {
            match first.get(key.text.as_str()) {
                Some(place) => {
                    let problem = format!("stands a second time; the first is at {place}");
                    self.refuse(&join(path, &shortened(&key.text)), key.place, problem);
                }
                None => {
                    first.insert(&key.text, key.place);
                    kept.push((key, node));
                }
            }
        }
        kept
    }

    fn known_field(
        &mut self,
        path: &str,
        descriptor: &MessageDescriptor,
        besides: &[&str],
        key: &Key,
    ) -> Option<FieldDescriptor> {
        let at = join(path, &shortened(&key.text));
        match descriptor.get_field_by_name(&key.text) {
            Some(field) if path.is_empty() && is_identity(&field) => {
                self.refuse(&at, key.place, "is kept by the server and has no place in a file");
                None
            }
            Some(field) => Some(field),
            None => {
                let fields: Vec<FieldDescriptor> = descriptor
                    .fields()
                    .filter(|field| !(path.is_empty() && is_identity(field)))
                    .collect();
                let known = fields
                    .iter()
                    .map(FieldDescriptor::name)
                    .chain(besides.iter().copied());
                let problem = format!("is not known here; {}", suggestion(&key.text, known));
                self.refuse(&at, key.place, problem);
                None
            }
        }
    }

    fn field(&mut self, path: &str, field: &FieldDescriptor, node: &Node) -> Option<Value> {
        if field.is_map() {
            return self.map(path, field, node);
        }
        if !field.is_list() {
            return self.value(path, field, &field.kind(), node);
        }
        let Content::Sequence(nodes) = &node.content else {
            self.refuse(path, node.place, format!("must be a list, is {}", shown(node)));
            return None;
        };
        let mut values = Vec::with_capacity(nodes.len());
        for (index, node) in nodes.iter().enumerate() {
            let at = format!("{path}[{index}]");
            self.places.insert(at.clone(), node.place);
            values.extend(self.value(&at, field, &field.kind(), node));
        }
        Some(Value::List(values))
    }

    fn map(&mut self, path: &str, field: &FieldDescriptor, node: &Node) -> Option<Value> {
        let Content::Mapping(entries) = &node.content else {
            self.refuse(path, node.place, format!("must be a mapping, is {}", shown(node)));
            return None;
        };
        let Kind::Message(entry) = field.kind() else {
            return None;
        };
        let kind = entry.map_entry_value_field().kind();
        let mut values = HashMap::new();
        for (key, node) in self.once(path, entries) {
            let at = format!("{path}[{:?}]", shortened(&key.text));
            self.places.insert(at.clone(), node.place);
            if !is_id(&key.text) {
                self.refuse(
                    &at,
                    key.place,
                    "must have a key of lower-case letters, digits, `-`, `_` or `.`",
                );
                continue;
            }
            let value = match &kind {
                Kind::Message(descriptor) if is_null(node) && is_fact(descriptor) => {
                    Some(Value::Message(DynamicMessage::new(descriptor.clone())))
                }
                Kind::String if is_null(node) && targets(rule(field)).next().is_some() => {
                    Some(Value::String(String::new()))
                }
                kind => self.value(&at, field, kind, node),
            };
            if let Some(value) = value {
                values.insert(MapKey::String(key.text.clone()), value);
            }
        }
        Some(Value::Map(values))
    }

    fn value(&mut self, path: &str, field: &FieldDescriptor, kind: &Kind, node: &Node) -> Option<Value> {
        let outcome = match (kind, &node.content) {
            (Kind::Message(descriptor), Content::Mapping(entries)) => {
                let message = self.message(path, descriptor, node.place, entries, &[]);
                return Some(Value::Message(message));
            }
            (Kind::Message(descriptor), Content::Scalar { text, quoted }) if is_fact(descriptor) => {
                fact(descriptor, text, *quoted)
            }
            (Kind::Message(_), _) => Err(format!("must be a mapping, is {}", shown(node))),
            (_, Content::Scalar { text, quoted }) => self.scalar(field, kind, text, *quoted),
            _ => Err(format!("must be a single value, is {}", shown(node))),
        };
        match outcome {
            Ok(value) => Some(value),
            Err(problem) => {
                self.refuse(path, node.place, problem);
                None
            }
        }
    }

    fn scalar(
        &self,
        field: &FieldDescriptor,
        kind: &Kind,
        text: &str,
        quoted: bool,
    ) -> Result<Value, String> {
        let meaning = if quoted { Plain::Text } else { plain(text) };
        let is = || {
            format!(
                "is {:?}{}",
                shortened(text),
                if quoted { " in quotes" } else { "" }
            )
        };
        match (kind, meaning) {
            (Kind::Bool, Plain::Bool(yes)) => Ok(Value::Bool(yes)),
            (Kind::Bool, _) => Err(format!("must be true or false, {}", is())),
            (Kind::Double, Plain::Number(number)) => Ok(Value::F64(number)),
            (Kind::Double, _) => Err(format!("must be a number, {}", is())),
            (Kind::Int32, Plain::Number(_)) if let Ok(number) = text.parse() => Ok(Value::I32(number)),
            (Kind::Int64, Plain::Number(_)) if let Ok(number) = text.parse() => Ok(Value::I64(number)),
            (Kind::Int32 | Kind::Int64, _) => Err(format!("must be a whole number, {}", is())),
            (Kind::String, Plain::Null) => Err("must be a text; put it in quotes if it is empty".to_owned()),
            (Kind::String, _) => self.text(field, text).map(Value::String),
            (Kind::Enum(enumeration), _) => enum_value(enumeration, text).map(Value::EnumNumber),
            _ => Err("cannot stand in a file".to_owned()),
        }
    }

    fn text(&self, field: &FieldDescriptor, text: &str) -> Result<String, String> {
        let collections: Vec<&str> = targets(rule(field)).collect();
        if collections.is_empty() || text.is_empty() {
            return Ok(text.to_owned());
        }
        expand(self.fleet, &collections, text).map(String::from)
    }
}

fn enum_value(enumeration: &EnumDescriptor, text: &str) -> Result<i32, String> {
    let values: Vec<(String, i32)> = enumeration
        .values()
        .filter(|value| value.number() != 0)
        .map(|value| (enum_word(enumeration, value.name()), value.number()))
        .collect();
    match values.iter().find(|(word, _)| word == text) {
        Some((_, number)) => Ok(*number),
        None => {
            let words: Vec<&str> = values.iter().map(|(word, _)| word.as_str()).collect();
            Err(format!(
                "must be one of {}, is {:?}",
                words.join(", "),
                shortened(text)
            ))
        }
    }
}

fn fact(descriptor: &MessageDescriptor, text: &str, quoted: bool) -> Result<Value, String> {
    let (name, value) = match if quoted { Plain::Text } else { plain(text) } {
        Plain::Bool(yes) => ("yes", Value::Bool(yes)),
        Plain::Number(number) => ("number", Value::F64(number)),
        Plain::Text => ("text", Value::String(text.to_owned())),
        Plain::Null => return Ok(Value::Message(DynamicMessage::new(descriptor.clone()))),
        Plain::Doubtful => {
            return Err(format!(
                "must be true, false, a number or a text; put {:?} in quotes to mean the text",
                shortened(text)
            ));
        }
    };
    let mut fact = DynamicMessage::new(descriptor.clone());
    fact.set_field_by_name(name, value);
    Ok(Value::Message(fact))
}

/// Whether a value is left open: nothing, `~` or `null`.
pub(super) fn is_null(node: &Node) -> bool {
    matches!(&node.content, Content::Scalar { text, quoted: false } if plain(text) == Plain::Null)
}

/// What a node is, for people.
pub(super) fn shown(node: &Node) -> String {
    match &node.content {
        Content::Scalar { text, .. } => format!("{:?}", shortened(text)),
        Content::Sequence(_) => "a list".to_owned(),
        Content::Mapping(_) => "a mapping".to_owned(),
    }
}

/// The beginning of a text.
pub(super) fn shortened(text: &str) -> String {
    if text.chars().nth(SHOWN_MAX).is_none() {
        return text.to_owned();
    }
    text.chars().take(SHOWN_MAX).chain(['…']).collect()
}

/// Path of `field` below `path`.
pub(super) fn join(path: &str, field: &str) -> String {
    match (path.is_empty(), field.is_empty()) {
        (true, _) => field.to_owned(),
        (_, true) => path.to_owned(),
        _ => format!("{path}.{field}"),
    }
}
