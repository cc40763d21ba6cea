//! The kinds as a table, for what handles resources of many kinds at once: fleet files, history.

use ostler_core::check::InvalidInput;
use ostler_core::record::Name;
use ostler_core::record::integrity::World;
use ostler_store::Row;
use prost_reflect::{DynamicMessage, ReflectMessage};

use super::AppError;
use super::kinds::{
    Acceptances, AwaitedParts, CargoItems, CompatibilityNotes, Defects, Departures, EvidenceRecords,
    Fitments, Fleets, Jobs, Kind, LoadSheets, Parts, RegulatedItems, RulePacks, Substitutions, Vehicles,
    Weighings, Workshops, name_of,
};
use super::stored::{decode, encode};
use crate::contract;

/// A resource ready to be stored.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// Its name.
    pub name: Name,
    /// The word for its kind.
    pub word: &'static str,
    /// Its scope.
    pub scope: String,
    /// Its encoded body.
    pub body: Vec<u8>,
    /// What it refers to, sorted, each once.
    pub targets: Vec<String>,
}

/// What differs from kind to kind.
pub struct KindEntry {
    /// The word for it.
    pub word: &'static str,
    /// Its collection in names.
    pub collection: &'static str,
    names: fn(&str) -> bool,
    decode: fn(&Row) -> Result<DynamicMessage, AppError>,
    prepare: fn(&Name, &DynamicMessage) -> Result<Prepared, AppError>,
    integrity: fn(&Name, &DynamicMessage, &World<'_>) -> Result<(), InvalidInput>,
}

impl KindEntry {
    const fn of<K: Kind>() -> Self {
        Self {
            word: K::WORD,
            collection: K::COLLECTION,
            names: |text| name_of::<K>("", text).is_ok(),
            decode: |row| Ok(decode::<K>(row.clone())?.message.transcode_to_dynamic()),
            prepare: prepare_to_store::<K>,
            integrity: integrity::<K>,
        }
    }

    /// Decodes a row, with its identity.
    ///
    /// # Errors
    /// When the body cannot be read.
    pub fn decode(&self, row: &Row) -> Result<DynamicMessage, AppError> {
        (self.decode)(row)
    }

    /// Makes a message ready to be stored.
    ///
    /// # Errors
    /// When it is not of this kind.
    pub fn prepare(&self, name: &Name, message: &DynamicMessage) -> Result<Prepared, AppError> {
        (self.prepare)(name, message)
    }

    /// Checks the integrity of a message, with paths relative to it.
    ///
    /// # Errors
    /// All violations.
    pub fn integrity(
        &self,
        name: &Name,
        message: &DynamicMessage,
        world: &World<'_>,
    ) -> Result<(), InvalidInput> {
        (self.integrity)(name, message, world)
    }
}

static TABLE: [KindEntry; 18] = [
    KindEntry::of::<Fleets>(),
    KindEntry::of::<Vehicles>(),
    KindEntry::of::<Fitments>(),
    KindEntry::of::<Parts>(),
    KindEntry::of::<CompatibilityNotes>(),
    KindEntry::of::<Substitutions>(),
    KindEntry::of::<Defects>(),
    KindEntry::of::<CargoItems>(),
    KindEntry::of::<Weighings>(),
    KindEntry::of::<EvidenceRecords>(),
    KindEntry::of::<RegulatedItems>(),
    KindEntry::of::<RulePacks>(),
    KindEntry::of::<Workshops>(),
    KindEntry::of::<AwaitedParts>(),
    KindEntry::of::<Jobs>(),
    KindEntry::of::<Departures>(),
    KindEntry::of::<Acceptances>(),
    KindEntry::of::<LoadSheets>(),
];

/// The entry of the kind called `word`.
pub fn entry(word: &str) -> Option<&'static KindEntry> {
    TABLE.iter().find(|entry| entry.word == word)
}

/// The entry of the kind whose names stand in `collection`.
///
/// # Errors
/// When there is none; the violation is at `field`.
pub fn of_collection(field: &str, collection: &str) -> Result<&'static KindEntry, InvalidInput> {
    let found = TABLE.iter().find(|entry| entry.collection == collection);
    found.ok_or_else(|| {
        InvalidInput::one(
            field,
            format!("must be a collection of resources such as `vehicles`, is {collection:?}"),
        )
    })
}

/// Takes `text` as the name of a resource of any kind.
///
/// # Errors
/// When it is not one; the violation is at `field`.
pub fn name_of_any(field: &str, text: &str) -> Result<Name, InvalidInput> {
    let name = Name::new(text).map_err(|refused| refused.within(field))?;
    if TABLE.iter().any(|entry| (entry.names)(text)) {
        Ok(name)
    } else {
        Err(InvalidInput::one(
            field,
            format!("must be the name of a resource, is {text:?}"),
        ))
    }
}

/// The typed form of a dynamic message.
///
/// # Errors
/// When it is not a `K`.
pub fn typed<K: Kind>(message: &DynamicMessage) -> Result<K::Message, AppError> {
    message.transcode_to().map_err(|error| AppError::Corrupt {
        name: K::WORD.to_owned(),
        source: Box::new(error),
    })
}

fn prepare_to_store<K: Kind>(name: &Name, message: &DynamicMessage) -> Result<Prepared, AppError> {
    let mut targets: Vec<String> = contract::references(message)
        .into_iter()
        .map(|reference| reference.target)
        .collect();
    targets.sort();
    targets.dedup();
    let message = typed::<K>(message)?;
    Ok(Prepared {
        name: name.clone(),
        word: K::WORD,
        scope: K::scope(name, &message),
        body: encode::<K>(&message),
        targets,
    })
}

fn integrity<K: Kind>(name: &Name, message: &DynamicMessage, world: &World<'_>) -> Result<(), InvalidInput> {
    let message: K::Message = message
        .transcode_to()
        .map_err(|error| InvalidInput::one("", error.to_string()))?;
    let record = K::record(name.clone(), message)?;
    let violations = K::integrity(&record, world);
    if violations.is_empty() {
        Ok(())
    } else {
        Err(InvalidInput { violations })
    }
}
