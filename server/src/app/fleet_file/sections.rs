//! The sections of a fleet file: one per collection of resources.

use ostler_core::check::InvalidInput;
use ostler_core::record::{Id, Name};
use prost_reflect::{DynamicMessage, MessageDescriptor, ReflectMessage};

use crate::app::kinds::{
    Acceptances, AwaitedParts, CargoItems, CompatibilityNotes, Defects, Departures, EvidenceRecords,
    Fitments, Fleets, Jobs, Kind, Parts, RegulatedItems, RulePacks, Substitutions, Vehicles, Weighings,
    Workshops,
};

/// A collection of resources as it stands in a file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Section {
    /// Key of the section in the file.
    pub(super) key: &'static str,
    /// The collection in names.
    pub(super) collection: &'static str,
    /// The word for one of its resources.
    pub(super) word: &'static str,
    descriptor: fn() -> MessageDescriptor,
    converts: fn(Name, &DynamicMessage) -> Result<(), InvalidInput>,
}

impl Section {
    const fn of<K: Kind>(key: &'static str) -> Self {
        Self {
            key,
            collection: K::COLLECTION,
            word: K::WORD,
            descriptor: || K::Message::default().descriptor(),
            converts: converts::<K>,
        }
    }

    /// The message of its resources.
    pub(super) fn descriptor(&self) -> MessageDescriptor {
        (self.descriptor)()
    }

    /// Whether the record can hold a message that keeps to the contract.
    pub(super) fn converts(&self, name: &Name, message: &DynamicMessage) -> Result<(), InvalidInput> {
        (self.converts)(name.clone(), message)
    }
}

fn converts<K: Kind>(name: Name, message: &DynamicMessage) -> Result<(), InvalidInput> {
    let message = message
        .transcode_to()
        .map_err(|error| InvalidInput::one("", error.to_string()))?;
    K::record(name, message).map(drop)
}

/// The fleet itself.
pub(super) const FLEET: Section = Section::of::<Fleets>("fleet");

/// What is fitted, below each vehicle.
pub(super) const FITMENTS: Section = Section::of::<Fitments>("fitments");

/// Vehicles.
pub(super) const VEHICLES: Section = Section::of::<Vehicles>("vehicles");

/// The sections below the fleet, in the order in which they are written.
pub(super) const SECTIONS: [Section; 15] = [
    Section::of::<Parts>("parts"),
    VEHICLES,
    Section::of::<CompatibilityNotes>("compatibility_notes"),
    Section::of::<Substitutions>("substitutions"),
    Section::of::<Defects>("defects"),
    Section::of::<Weighings>("weighings"),
    Section::of::<RegulatedItems>("regulated_items"),
    Section::of::<EvidenceRecords>("evidence"),
    Section::of::<RulePacks>("rule_packs"),
    Section::of::<Workshops>("workshops"),
    Section::of::<AwaitedParts>("awaited_parts"),
    Section::of::<Jobs>("jobs"),
    Section::of::<Departures>("departures"),
    Section::of::<CargoItems>("cargo_items"),
    Section::of::<Acceptances>("acceptances"),
];

/// The section of a collection below the fleet.
pub(super) fn of_collection(collection: &str) -> Option<&'static Section> {
    SECTIONS.iter().find(|section| section.collection == collection)
}

/// The section that a resource stands in.
pub(super) fn of_name(name: &Name) -> Option<&'static Section> {
    let parent = name.parent();
    match (name.collection(), parent) {
        ("fleets", None) => Some(&FLEET),
        ("fitments", Some(parent)) if parent.collection() == VEHICLES.collection => Some(&FITMENTS),
        (collection, Some(parent)) if parent.parent().is_none() => of_collection(collection),
        _ => None,
    }
}

/// Path of a resource in the file: `vehicles.v1`, `vehicles.v1.fitments["spring.rear.left"]`.
pub(super) fn path_of(name: &Name) -> String {
    let Some(section) = of_name(name) else {
        return name.to_string();
    };
    match (section.key, name.parent()) {
        (_, None) => section.key.to_owned(),
        ("fitments", Some(vehicle)) => entry(&format!("{}.{}", path_of(&vehicle), section.key), name.id()),
        _ => entry(section.key, name.id()),
    }
}

/// Path of the entry `id`.
pub(super) fn entry(path: &str, id: &str) -> String {
    if id.contains('.') {
        format!("{path}[{id:?}]")
    } else {
        format!("{path}.{id}")
    }
}

/// Reads the short form of a reference into a name of the fleet: `v1`, or `evidence/k04` when it may
/// refer to several collections.
pub(super) fn expand(fleet: &Name, collections: &[&str], text: &str) -> Result<Name, String> {
    let (section, id) = match collections {
        [collection] => (of_collection(collection), text),
        _ => match text.split_once('/') {
            Some((key, id)) => {
                let section = SECTIONS.iter().find(|section| section.key == key);
                (
                    section.filter(|section| collections.contains(&section.collection)),
                    id,
                )
            }
            None => (None, text),
        },
    };
    let Some(section) = section else {
        let keys: Vec<String> = collections
            .iter()
            .filter_map(|collection| of_collection(collection))
            .map(|section| format!("`{}/…`", section.key))
            .collect();
        return Err(format!("must be one of {}, is {text:?}", keys.join(", ")));
    };
    match Id::new(id) {
        Ok(id) => Ok(fleet.child(section.collection, &id)),
        Err(_) => Err(format!("must be the id of a {}, is {text:?}", section.word)),
    }
}

/// The short form of a reference; the full name when it has none.
pub(super) fn shorten(fleet: &str, collections: &[&str], name: &str) -> String {
    let below = name.strip_prefix(fleet).and_then(|rest| rest.strip_prefix('/'));
    let Some((collection, id)) = below.and_then(|below| below.split_once('/')) else {
        return name.to_owned();
    };
    match (collections, of_collection(collection)) {
        ([only], _) if *only == collection => id.to_owned(),
        ([_, _, ..], Some(section)) => format!("{}/{id}", section.key),
        _ => name.to_owned(),
    }
}
