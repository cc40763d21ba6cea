//! Random fleets that keep to the contract, made from the descriptors.

use std::collections::HashMap;

use ostler_core::record::{Id, Name};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MapKey, MessageDescriptor, Value};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::super::fields::{is_identity, shared_oneof};
use super::super::sections::{FITMENTS, FLEET, SECTIONS, VEHICLES};
use super::super::{FileResource, FleetFile};
use crate::contract::{rule, targets};

/// A fleet with a few resources in every section.
pub(super) fn fleet(seed: u64) -> FleetFile {
    Random {
        random: StdRng::seed_from_u64(seed),
    }
    .fleet()
}

const PIECES: [&str; 24] = [
    "yes",
    "null",
    "1e3",
    "#",
    ": ",
    ", ",
    "line\nbreak",
    "ä",
    "🚙",
    "\"",
    "'",
    "\\",
    "{",
    "]",
    "- ",
    "true",
    "12",
    "~",
    " ",
    "word",
    "\t",
    "=",
    "!a",
    "2027-05-24",
];

struct Random {
    random: StdRng,
}

impl Random {
    fn chance(&mut self, of: u32) -> bool {
        self.random.random_range(0..of) == 0
    }

    fn fleet(mut self) -> FleetFile {
        let fleet = Name::new("fleets/orrin").unwrap();
        let mut resources = vec![self.resource(fleet.clone(), &FLEET.descriptor())];
        for section in &SECTIONS {
            for index in 0..self.random.random_range(0..3) {
                let id = Id::new(format!("{}.{index}", self.id())).unwrap();
                let name = fleet.child(section.collection, &id);
                resources.push(self.resource(name.clone(), &section.descriptor()));
                if section.key == VEHICLES.key {
                    let slot = Id::new(self.id()).unwrap();
                    resources
                        .push(self.resource(name.child(FITMENTS.collection, &slot), &FITMENTS.descriptor()));
                }
            }
        }
        FleetFile { fleet, resources }
    }

    fn resource(&mut self, name: Name, descriptor: &MessageDescriptor) -> FileResource {
        let message = self.message(descriptor, true);
        FileResource::new(name, message).unwrap()
    }

    fn message(&mut self, descriptor: &MessageDescriptor, resource: bool) -> DynamicMessage {
        let mut message = DynamicMessage::new(descriptor.clone());
        for field in descriptor
            .fields()
            .filter(|field| !(resource && is_identity(field)))
        {
            let state = rule(&field).output_only && matches!(field.kind(), Kind::Enum(_));
            let number = matches!(field.kind(), Kind::Double | Kind::Int32) && !field.supports_presence();
            let condition = field.name() == "accepted_condition";
            let choice = [
                "ostler.v1.PowerDemand.power_w",
                "ostler.v1.TankInside.box",
                "ostler.v1.CentreHeight.estimate",
                // A point of the underside has a height.
                "ostler.v1.Position.z_mm",
            ]
            .contains(&field.full_name());
            let needed = rule(&field).required || state || number || condition || choice;
            let taken = shared_oneof(&field)
                .is_some_and(|oneof| oneof.fields().any(|other| message.has_field(&other)));
            let without_cells = field.name() == "baffles" && !message.has_field_by_name("cells");
            if taken || without_cells || !(needed || self.chance(2)) {
                continue;
            }
            let value = self.field(&field);
            message.set_field(&field, value);
            if !message.has_field(&field) {
                message.clear_field(&field);
            }
        }
        message
    }

    fn field(&mut self, field: &FieldDescriptor) -> Value {
        let count = self.random.random_range(1..4);
        if field.is_list() {
            return Value::List((0..count).map(|_| self.value(field, &field.kind())).collect());
        }
        if field.is_map() {
            let entry = field.kind().as_message().unwrap().clone();
            let kind = entry.map_entry_value_field().kind();
            let mut entries = HashMap::new();
            for index in 0..count {
                entries.insert(
                    MapKey::String(format!("{}.{index}", self.id())),
                    self.value(field, &kind),
                );
            }
            return Value::Map(entries);
        }
        self.value(field, &field.kind())
    }

    fn value(&mut self, field: &FieldDescriptor, kind: &Kind) -> Value {
        let least = rule(field).min.unwrap_or(-1e9);
        let most = rule(field).max.unwrap_or(1e9);
        match kind {
            Kind::Bool => Value::Bool(self.chance(2)),
            Kind::Double if self.chance(2) => {
                Value::F64(most.min(least + f64::from(self.random.random_range(1..500_u32))))
            }
            Kind::Double => Value::F64(least + (most - least) * self.random.random_range(0.001..1.0)),
            Kind::Int32 => Value::I32(self.random.random_range(least as i32..=most as i32)),
            Kind::Int64 => Value::I64(self.random.random_range(least as i64..=most as i64)),
            Kind::String => Value::String(self.text(field)),
            Kind::Enum(enumeration) => {
                let numbers: Vec<i32> = enumeration
                    .values()
                    .map(|value| value.number())
                    .filter(|number| *number != 0)
                    .collect();
                Value::EnumNumber(numbers[self.random.random_range(0..numbers.len())])
            }
            Kind::Message(descriptor) => Value::Message(self.message(descriptor, false)),
            other => panic!("no {other:?} in a resource"),
        }
    }

    fn id(&mut self) -> String {
        let words = [
            "v1",
            "null",
            "no",
            "1e3",
            "12",
            "0x1f",
            "true",
            "spring.rear.left",
            "a_b-c",
            "2027-05-24",
            "y",
        ];
        words[self.random.random_range(0..words.len())].to_owned()
    }

    fn text(&mut self, field: &FieldDescriptor) -> String {
        let collections: Vec<&str> = targets(rule(field)).collect();
        if !collections.is_empty() {
            let collection = collections[self.random.random_range(0..collections.len())];
            return format!("fleets/orrin/{collection}/{}", self.id());
        }
        match rule(field).form.as_str() {
            "id" => self.id(),
            "date" => format!(
                "20{:02}-0{}-1{}",
                self.random.random_range(0..99),
                self.random.random_range(1..10),
                self.random.random_range(0..10)
            ),
            "time_of_day" => format!("1{}:30", self.random.random_range(0..10)),
            _ if field.name() == "fixed_date" => "2027-03-20".to_owned(),
            _ if field.name() == "slots" => self.id(),
            _ if field.name() == "designation" => "LT265/75R16 123/120Q".to_owned(),
            _ => {
                let mut text = PIECES[self.random.random_range(0..PIECES.len())].to_owned();
                while self.chance(2) {
                    text.push_str(PIECES[self.random.random_range(0..PIECES.len())]);
                }
                let most = rule(field)
                    .max_length
                    .map_or(1000, |most| usize::try_from(most).unwrap());
                text.chars().take(most).collect()
            }
        }
    }
}
