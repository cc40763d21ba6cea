//! Reads the record, or the part of it that a computation needs, in a fixed handful of queries.

use std::collections::BTreeMap;

use ostler_core::record::{Departure, Fitment, Id, Name, Record, Table};
use ostler_store::Row;
use tracing::Instrument as _;

use super::kinds::{
    Acceptances, AwaitedParts, CargoItems, CompatibilityNotes, Defects, Departures, EvidenceRecords,
    Fitments, Fleets, Jobs, Kind, LoadSheets, Parts, RegulatedItems, RulePacks, Substitutions, Vehicles,
    Weighings, Workshops,
};
use super::stored::decode;
use super::{App, AppError};
use crate::traces;

/// A record with the versions of what it was read from.
#[derive(Debug)]
pub struct Read {
    /// The record.
    pub record: Record,
    /// Revision of each scope it was read from.
    pub revisions: BTreeMap<String, i64>,
}

impl Read {
    /// One text for the state of the record, for results to name.
    pub fn version(&self) -> String {
        version(&self.revisions)
    }
}

/// One text for a set of revisions.
pub fn version(revisions: &BTreeMap<String, i64>) -> String {
    let parts: Vec<String> = revisions
        .iter()
        .map(|(scope, revision)| format!("{}:{revision}", scope.rsplit('/').next().unwrap_or(scope)))
        .collect();
    parts.join(" ")
}

/// The scopes that everything about a departure is read from.
pub fn scopes_of(departure: &Departure) -> Vec<String> {
    let mut scopes = vec![departure.name.fleet().to_string(), departure.name.to_string()];
    scopes.extend(departure.vehicles.iter().map(|going| going.vehicle.to_string()));
    scopes
}

impl App {
    /// Reads what a vehicle needs: the fleet's shared records and the vehicle.
    ///
    /// # Errors
    /// When the fleet does not exist or a body cannot be read.
    pub async fn read_vehicle(&self, vehicle: &Name) -> Result<Read, AppError> {
        let fleet = vehicle.fleet();
        self.read(&fleet, &[fleet.to_string(), vehicle.to_string()]).await
    }

    async fn read(&self, fleet: &Name, scopes: &[String]) -> Result<Read, AppError> {
        let loaded = self
            .store()
            .load(scopes)
            .instrument(traces::part("read record"))
            .await?;
        Ok(Read {
            record: assemble(fleet, loaded.rows)?,
            revisions: loaded.revisions,
        })
    }
}

/// Puts rows together as a record.
///
/// # Errors
/// When the fleet's own row is not among them or a body cannot be read.
pub fn assemble(fleet: &Name, rows: Vec<Row>) -> Result<Record, AppError> {
    let (own, rest): (Vec<Row>, Vec<Row>) = rows.into_iter().partition(|row| row.kind == Fleets::WORD);
    let own = own.into_iter().next().ok_or_else(|| AppError::NotFound {
        name: fleet.to_string(),
    })?;
    let mut record = Record::new(read_one::<Fleets>(own)?.1);
    put_in(&mut record, rest)?;
    Ok(record)
}

/// Puts rows into a record, in place of those of the same names. Fitments go into their vehicles: with a vehicle's row come those
/// of all its fitments.
///
/// # Errors
/// When a body cannot be read.
pub(super) fn put_in(record: &mut Record, rows: impl IntoIterator<Item = Row>) -> Result<(), AppError> {
    let mut fitments = Vec::new();
    for row in rows {
        match row.kind.as_str() {
            Fleets::WORD => record.fleet = read_one::<Fleets>(row)?.1.into(),
            Vehicles::WORD => keep::<Vehicles>(&mut record.vehicles, row)?,
            Fitments::WORD => fitments.push(read_one::<Fitments>(row)?.1),
            Parts::WORD => keep::<Parts>(&mut record.parts, row)?,
            CompatibilityNotes::WORD => keep::<CompatibilityNotes>(&mut record.compatibility_notes, row)?,
            Substitutions::WORD => keep::<Substitutions>(&mut record.substitutions, row)?,
            Defects::WORD => keep::<Defects>(&mut record.defects, row)?,
            CargoItems::WORD => keep::<CargoItems>(&mut record.cargo_items, row)?,
            Weighings::WORD => keep::<Weighings>(&mut record.weighings, row)?,
            EvidenceRecords::WORD => keep::<EvidenceRecords>(&mut record.evidence, row)?,
            RegulatedItems::WORD => keep::<RegulatedItems>(&mut record.regulated_items, row)?,
            RulePacks::WORD => keep::<RulePacks>(&mut record.rule_packs, row)?,
            Workshops::WORD => keep::<Workshops>(&mut record.workshops, row)?,
            AwaitedParts::WORD => keep::<AwaitedParts>(&mut record.awaited_parts, row)?,
            Jobs::WORD => keep::<Jobs>(&mut record.jobs, row)?,
            Departures::WORD => keep::<Departures>(&mut record.departures, row)?,
            Acceptances::WORD => keep::<Acceptances>(&mut record.acceptances, row)?,
            // What was issued is kept as it was and is no part of what is computed from.
            LoadSheets::WORD => {}
            _ => return Err(unknown_kind(row)),
        }
    }
    place_fitments(record, fitments);
    Ok(())
}

/// Takes a row out of a record. A fitment stays in its vehicle, whose row goes or is put in again with it.
///
/// # Errors
/// When the row is of no kind.
pub(super) fn take_out(record: &mut Record, row: &Row) -> Result<(), AppError> {
    let name = row.name.as_str();
    match row.kind.as_str() {
        Vehicles::WORD => drop(record.vehicles.remove(name)),
        Parts::WORD => drop(record.parts.remove(name)),
        CompatibilityNotes::WORD => drop(record.compatibility_notes.remove(name)),
        Substitutions::WORD => drop(record.substitutions.remove(name)),
        Defects::WORD => drop(record.defects.remove(name)),
        CargoItems::WORD => drop(record.cargo_items.remove(name)),
        Weighings::WORD => drop(record.weighings.remove(name)),
        EvidenceRecords::WORD => drop(record.evidence.remove(name)),
        RegulatedItems::WORD => drop(record.regulated_items.remove(name)),
        RulePacks::WORD => drop(record.rule_packs.remove(name)),
        Workshops::WORD => drop(record.workshops.remove(name)),
        AwaitedParts::WORD => drop(record.awaited_parts.remove(name)),
        Jobs::WORD => drop(record.jobs.remove(name)),
        Departures::WORD => drop(record.departures.remove(name)),
        Acceptances::WORD => drop(record.acceptances.remove(name)),
        Fleets::WORD | Fitments::WORD | LoadSheets::WORD => {}
        _ => return Err(unknown_kind(row.clone())),
    }
    Ok(())
}

fn unknown_kind(row: Row) -> AppError {
    AppError::Corrupt {
        source: format!("unknown kind {:?}", row.kind).into(),
        name: row.name,
    }
}

fn place_fitments(record: &mut Record, fitments: Vec<Fitment>) {
    for fitment in fitments {
        let vehicle = fitment
            .name
            .parent()
            .and_then(|name| record.vehicles.get_mut(&name));
        if let (Some(vehicle), Ok(slot)) = (vehicle, Id::new(fitment.name.id())) {
            vehicle.fitments.insert(slot, fitment);
        }
    }
}

fn keep<K: Kind>(table: &mut Table<K::Record>, row: Row) -> Result<(), AppError> {
    let (name, record) = read_one::<K>(row)?;
    table.insert(name, record);
    Ok(())
}

fn read_one<K: Kind>(row: Row) -> Result<(Name, K::Record), AppError> {
    let stored = decode::<K>(row)?;
    let record = K::record(stored.name.clone(), stored.message).map_err(|error| AppError::Corrupt {
        name: stored.name.to_string(),
        source: Box::new(error),
    })?;
    Ok((stored.name, record))
}
