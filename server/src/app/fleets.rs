//! Whole fleets as files: in all or nothing, and out.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::integrity::World;
use ostler_core::record::{Name, Vehicle};
use ostler_proto::v1;
use ostler_store::Row;
use tokio::sync::mpsc::Sender;
use tonic::Status;

use super::batch::Batch;
use super::fleet_file::{self, FileResource, FleetFile};
use super::kind_table::{KindEntry, entry, typed};
use super::kinds::{Fleets, Kind, Vehicles, name_of};
use super::unit::{Begun, Unit};
use super::weighings;
use super::{App, AppError, Call};

/// Largest fleet file.
pub const FILE_BYTES_MAX: usize = 8 * 1024 * 1024;

/// Where progress of an import goes.
pub type Progress = Sender<Result<v1::ImportFleetResponse, Status>>;

impl App {
    /// Brings in a fleet file: all of it or nothing. What is on the server but not in the file stays.
    ///
    /// # Errors
    /// When the file has faults, each with its path and line, or the database fails.
    pub async fn import_fleet(
        &self,
        call: &Call,
        bytes: &[u8],
        progress: &Progress,
    ) -> Result<v1::ImportOutcome, AppError> {
        if bytes.len() > FILE_BYTES_MAX {
            let problem = format!("must be at most {FILE_BYTES_MAX} bytes, is {}", bytes.len());
            return Err(AppError::field("fleet_file", problem));
        }
        tell(progress, "read", 0, 0).await;
        let (file, faults) = read_apart(bytes).await?;
        if let Some(faults) = faults {
            return Err(AppError::FileFaulty(
                self.with_missing_references(&file, faults).await?,
            ));
        }
        let mut unit = match self.begin(call).await? {
            Begun::Repeated(answer) => return Ok(answer),
            Begun::New(unit) => unit,
        };
        let outcome = import(&mut unit, file, progress).await?;
        unit.finish(outcome).await
    }

    /// The faults of a file with, beside them, its references to what does not exist: a field that is
    /// faulty already is not named twice.
    async fn with_missing_references(
        &self,
        file: &FleetFile,
        faults: InvalidInput,
    ) -> Result<InvalidInput, AppError> {
        let mut violations = faults.violations;
        let below = self.store().descendants(&file.fleet).await?;
        let known = below.into_iter().map(|row| row.name).collect();
        let missing = missing_references(&file.resources, &known);
        let fresh: Vec<Violation> = missing
            .into_iter()
            .filter(|missing| {
                !violations
                    .iter()
                    .any(|violation| violation.field == missing.field)
            })
            .collect();
        violations.extend(fresh);
        Ok(InvalidInput { violations })
    }

    /// Writes a fleet as a fleet file.
    ///
    /// # Errors
    /// When the fleet does not exist.
    pub async fn export_fleet(
        &self,
        request: v1::ExportFleetRequest,
    ) -> Result<v1::ExportFleetResponse, AppError> {
        let name = name_of::<Fleets>("name", &request.name)?;
        let own = self.store().get(&name).await?.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?;
        let mut resources = Vec::new();
        for row in std::iter::once(own).chain(self.store().descendants(&name).await?) {
            let message = entry(&row.kind).ok_or_else(|| unreadable(&row))?.decode(&row)?;
            let name = Name::new(row.name.clone())?;
            resources.push(FileResource::new(name, message).ok_or_else(|| unreadable(&row))?);
        }
        resources.sort_by(|left, right| left.name.cmp(&right.name));
        Ok(v1::ExportFleetResponse {
            fleet_file: fleet_file::write(&FleetFile {
                fleet: name,
                resources,
            }),
        })
    }
}

/// Reads a file on a thread of its own: a large one takes long enough to hold up other calls.
async fn read_apart(bytes: &[u8]) -> Result<(FleetFile, Option<InvalidInput>), AppError> {
    let bytes = bytes.to_vec();
    let read = tokio::task::spawn_blocking(move || fleet_file::read_with_faults(&bytes)).await;
    read.map_err(|source| AppError::Corrupt {
        name: "the fleet file".to_owned(),
        source: Box::new(source),
    })?
    .map_err(AppError::FileFaulty)
}

/// References of the file to what is neither in it nor `known`.
fn missing_references(resources: &[FileResource], known: &BTreeSet<String>) -> Vec<Violation> {
    let own: BTreeSet<&str> = resources.iter().map(|resource| &*resource.name).collect();
    let mut missing = Vec::new();
    for resource in resources {
        for reference in resource.references() {
            if !own.contains(reference.target.as_str()) && !known.contains(&reference.target) {
                let problem = format!("refers to {}, which does not exist", reference.target);
                missing.push(resource.violation(&reference.field, &problem));
            }
        }
    }
    missing
}

fn unreadable(row: &Row) -> AppError {
    AppError::Corrupt {
        name: row.name.clone(),
        source: format!("unknown kind {:?}", row.kind).into(),
    }
}

async fn import(
    unit: &mut Unit,
    file: FleetFile,
    progress: &Progress,
) -> Result<v1::ImportOutcome, AppError> {
    let FleetFile { fleet, mut resources } = file;
    let total = resources.len();
    tell(progress, "compare", 0, total).await;
    let known = known_rows(unit, &fleet).await?;
    weighings::complete_file(&mut resources, &known)?;
    tell(progress, "check", 0, total).await;
    check(&resources, &known)?;
    let mut batch = Batch::default();
    let mut outcome = v1::ImportOutcome {
        fleet: fleet.to_string(),
        ..v1::ImportOutcome::default()
    };
    for resource in &resources {
        let prepared = entry_of(resource)?.prepare(&resource.name, &resource.message)?;
        match known.get(&resource.name) {
            None => {
                outcome.created_count += 1;
                batch.create(prepared);
            }
            Some(row) if row.body == prepared.body => outcome.unchanged_count += 1,
            Some(row) => {
                outcome.updated_count += 1;
                batch.update(prepared, row.clone());
            }
        }
    }
    tell(progress, "write", 0, total).await;
    unit.write_batch(batch, "import").await?;
    tell(progress, "write", total, total).await;
    Ok(outcome)
}

fn entry_of(resource: &FileResource) -> Result<&'static KindEntry, AppError> {
    entry(resource.word).ok_or_else(|| AppError::Corrupt {
        name: resource.name.to_string(),
        source: format!("unknown kind {:?}", resource.word).into(),
    })
}

/// The rows that are there already, by name.
async fn known_rows(unit: &mut Unit, fleet: &Name) -> Result<BTreeMap<Name, Row>, AppError> {
    let own = unit.transaction().get(fleet).await?;
    let below = unit.transaction().descendants(fleet).await?;
    own.into_iter()
        .chain(below)
        .map(|row| Ok((Name::new(row.name.clone())?, row)))
        .collect()
}

/// References and integrity of the whole file at once.
fn check(resources: &[FileResource], known: &BTreeMap<Name, Row>) -> Result<(), AppError> {
    let vehicles = vehicles(resources, known)?;
    let world = World { vehicles: &vehicles };
    let names = known.keys().map(ToString::to_string).collect();
    let mut faults = missing_references(resources, &names);
    for resource in resources {
        if let Err(refused) = entry_of(resource)?.integrity(&resource.name, &resource.message, &world) {
            let own = refused.violations.iter();
            faults.extend(own.map(|violation| resource.violation(&violation.field, &violation.problem)));
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(AppError::FileFaulty(InvalidInput { violations: faults }))
    }
}

/// Every vehicle as it will be after the import.
fn vehicles(
    resources: &[FileResource],
    known: &BTreeMap<Name, Row>,
) -> Result<BTreeMap<Name, Vehicle>, AppError> {
    let mut vehicles = BTreeMap::new();
    for (name, row) in known.iter().filter(|(_, row)| row.kind == Vehicles::WORD) {
        let message = super::stored::decode::<Vehicles>(row.clone())?.message;
        vehicles.insert(name.clone(), Vehicles::record(name.clone(), message)?);
    }
    for resource in resources
        .iter()
        .filter(|resource| resource.word == Vehicles::WORD)
    {
        let message = typed::<Vehicles>(&resource.message)?;
        vehicles.insert(
            resource.name.clone(),
            Vehicles::record(resource.name.clone(), message)?,
        );
    }
    Ok(vehicles)
}

async fn tell(progress: &Progress, phase: &str, done: usize, total: usize) {
    let count = |count: usize| i32::try_from(count).unwrap_or(i32::MAX);
    let step = v1::ImportProgress {
        phase: phase.to_owned(),
        done_count: count(done),
        total_count: count(total),
    };
    let step = v1::import_fleet_response::Step::Progress(step);
    // A caller who no longer listens does not stop the import.
    drop(
        progress
            .send(Ok(v1::ImportFleetResponse { step: Some(step) }))
            .await,
    );
}
