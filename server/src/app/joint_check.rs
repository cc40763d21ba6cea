//! Checks resources that are written together, against one another and against what is on record.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::check::Violation;
use ostler_core::record::integrity::World;
use ostler_core::record::{Circles, Name, Vehicle};
use ostler_store::Row;
use prost_reflect::DynamicMessage;

use super::kind_table::{entry, typed};
use super::kinds::{Jobs, Kind, Vehicles};
use super::stored::decode;
use super::unit::Unit;
use super::{AppError, jobs};
use crate::contract;

/// A resource that is about to be written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Incoming<'a> {
    /// The word for its kind.
    pub word: &'static str,
    /// Its name.
    pub name: &'a Name,
    /// The resource; its identity fields are not set.
    pub message: &'a DynamicMessage,
}

/// The record as it will be once all of them are written.
pub(super) struct JointCheck<'a> {
    incoming: BTreeSet<&'a str>,
    known: &'a BTreeMap<Name, Row>,
    vehicles: BTreeMap<Name, Vehicle>,
    circles: Circles,
}

impl<'a> JointCheck<'a> {
    /// Puts what comes in beside the rows that are `known`. A vehicle that cannot be read yet is left out, so
    /// that its own faults are not repeated by everything that speaks of it.
    ///
    /// # Errors
    /// When a row on record cannot be read.
    pub(super) fn new(
        incoming: impl Iterator<Item = Incoming<'a>> + Clone,
        known: &'a BTreeMap<Name, Row>,
    ) -> Result<Self, AppError> {
        let mut vehicles = BTreeMap::new();
        for (name, row) in known.iter().filter(|(_, row)| row.kind == Vehicles::WORD) {
            let message = decode::<Vehicles>(row.clone())?.message;
            vehicles.insert(name.clone(), Vehicles::record(name.clone(), message)?);
        }
        for resource in incoming
            .clone()
            .filter(|resource| resource.word == Vehicles::WORD)
        {
            let name = resource.name.clone();
            match Vehicles::record(name.clone(), typed::<Vehicles>(resource.message)?) {
                Ok(vehicle) => vehicles.insert(name, vehicle),
                Err(_) => vehicles.remove(&name),
            };
        }
        let mut after = jobs::stored_precedence(known.values())?;
        for resource in incoming.clone().filter(|resource| resource.word == Jobs::WORD) {
            after.insert(
                resource.name.clone(),
                jobs::before(&typed::<Jobs>(resource.message)?),
            );
        }
        Ok(Self {
            circles: Circles::of(&after),
            incoming: incoming.map(|resource| &**resource.name).collect(),
            known,
            vehicles,
        })
    }

    /// Leaves a vehicle out: what speaks of it is not held against it.
    pub(super) fn without_vehicle(&mut self, name: &Name) {
        self.vehicles.remove(name);
    }

    /// References of `resource` to what neither comes in nor is on record. Paths are relative to it.
    pub(super) fn missing_references(&self, resource: Incoming<'_>) -> Vec<Violation> {
        contract::references(resource.message)
            .into_iter()
            .filter(|reference| {
                !self.incoming.contains(reference.target.as_str())
                    && Name::new(&*reference.target).map_or(true, |name| !self.known.contains_key(&name))
            })
            .map(|reference| Violation {
                problem: format!("refers to {}, which does not exist", reference.target),
                field: reference.field,
            })
            .collect()
    }

    /// What breaks the integrity of the record. Paths are relative to the resource.
    ///
    /// # Errors
    /// When there is no such kind.
    pub(super) fn integrity(&self, resource: Incoming<'_>) -> Result<Vec<Violation>, AppError> {
        let world = World {
            vehicles: &self.vehicles,
            circles: &self.circles,
        };
        let entry = entry(resource.word).ok_or_else(|| AppError::Corrupt {
            name: resource.name.to_string(),
            source: format!("unknown kind {:?}", resource.word).into(),
        })?;
        Ok(entry
            .integrity(resource.name, resource.message, &world)
            .err()
            .map_or_else(Vec::new, |refused| refused.violations))
    }
}

impl Unit {
    /// Everything of a fleet that is on record, by name, in two queries whatever its size.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub(super) async fn rows_of_fleet(&mut self, fleet: &Name) -> Result<BTreeMap<Name, Row>, AppError> {
        let own = self.backing.get(fleet).await?;
        let below = self.backing.descendants(fleet).await?;
        by_name(own, below)
    }
}

/// The rows of a fleet by their names.
///
/// # Errors
/// When a name is not one.
pub(super) fn by_name(own: Option<Row>, below: Vec<Row>) -> Result<BTreeMap<Name, Row>, AppError> {
    own.into_iter()
        .chain(below)
        .map(|row| Ok((Name::new(row.name.clone())?, row)))
        .collect()
}
