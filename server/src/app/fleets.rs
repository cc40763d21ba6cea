//! Whole fleets as files: in all or nothing, and out.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_store::Row;
use tokio::sync::mpsc::Sender;
use tonic::Status;

use super::batch::Batch;
use super::fleet_file::{self, FileResource, FleetFile};
use super::joint_check::{Incoming, JointCheck, by_name};
use super::kind_table::{KindEntry, entry};
use super::kinds::{Fleets, Kind, LoadSheets, name_of};
use super::unit::Unit;
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
        if let Some(faults) = faults.filter(|_| call.actor.scope.holds_fleet_of(&file.fleet)) {
            return Err(AppError::FileFaulty(self.with_later_faults(&file, faults).await?));
        }
        if !call.actor.scope.holds_fleet_of(&file.fleet) {
            return Err(AppError::NotFound {
                name: file.fleet.to_string(),
            });
        }
        self.write(call, async |unit: &mut Unit| import(unit, file, progress).await)
            .await
    }

    /// The faults of a file's form with, beside them, what can be said already about the rest of it: its
    /// references to what does not exist, and the integrity of the resources whose form is right.
    async fn with_later_faults(
        &self,
        file: &FleetFile,
        faults: InvalidInput,
    ) -> Result<InvalidInput, AppError> {
        let own = self.store().get(&file.fleet).await?;
        let known = by_name(own, self.store().descendants(&file.fleet).await?)?;
        let mut check = JointCheck::new(file.resources.iter().map(incoming), &known)?;
        let mut violations = faults.violations;
        let faulty: BTreeSet<&Name> = file
            .resources
            .iter()
            .filter(|resource| {
                violations
                    .iter()
                    .any(|fault| lies_in(&fault.field, &resource.path()))
            })
            .map(|resource| &resource.name)
            .collect();
        for name in &faulty {
            check.without_vehicle(name);
        }
        for resource in &file.resources {
            let mut later = check.missing_references(incoming(resource));
            if !faulty.contains(&resource.name) {
                later.extend(check.integrity(incoming(resource))?);
            }
            let fresh = placed(resource, later)
                .into_iter()
                .filter(|later| !violations.iter().any(|fault| fault.field == later.field))
                .collect::<Vec<_>>();
            violations.extend(fresh);
        }
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
        let below = self.store().descendants(&name).await?.into_iter();
        // Issued sheets are papers about the record, not part of it: a file could not bring them back unchanged.
        for row in std::iter::once(own).chain(below.filter(|row| row.kind != LoadSheets::WORD)) {
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

fn incoming(resource: &FileResource) -> Incoming<'_> {
    Incoming {
        word: resource.word,
        name: &resource.name,
        message: &resource.message,
    }
}

/// Violations within a resource, at their places in the file.
fn placed(resource: &FileResource, violations: Vec<Violation>) -> Vec<Violation> {
    violations
        .into_iter()
        .map(|violation| resource.violation(&violation.field, &violation.problem))
        .collect()
}

/// Whether a field of the file is `path` or stands below it.
fn lies_in(field: &str, path: &str) -> bool {
    field
        .strip_prefix(path)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
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
    let known = unit.rows_of_fleet(&fleet).await?;
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

/// References and integrity of the whole file at once.
fn check(resources: &[FileResource], known: &BTreeMap<Name, Row>) -> Result<(), AppError> {
    let check = JointCheck::new(resources.iter().map(incoming), known)?;
    let mut faults = Vec::new();
    for resource in resources {
        let mut own = check.missing_references(incoming(resource));
        own.extend(check.integrity(incoming(resource))?);
        faults.extend(placed(resource, own));
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(AppError::FileFaulty(InvalidInput { violations: faults }))
    }
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
