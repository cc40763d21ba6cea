//! Cargo lists as files.

use ostler_core::check::{InvalidInput, Violation};
use ostler_core::record::Name;
use ostler_proto::v1;
use prost_reflect::ReflectMessage;

use super::batch::Batch;
use super::cargo_list::{self, CargoRow};
use super::joint_check::{Incoming, JointCheck};
use super::kind_table::entry;
use super::kinds::{CargoItems, Fleets, Kind, Vehicles, name_of};
use super::stored::decode;
use super::unit::Unit;
use super::{App, AppError, Call};

/// Rows read at a time.
const BATCH: u32 = 1_000;

impl App {
    /// Brings in a cargo list: all of it or nothing. Items that are not in the list stay.
    ///
    /// # Errors
    /// When the list has faults, each with its line, or the fleet does not exist.
    pub async fn import_cargo_list(
        &self,
        call: &Call,
        request: v1::ImportCargoListRequest,
    ) -> Result<v1::ImportCargoListResponse, AppError> {
        let fleet = name_of::<Fleets>("parent", &request.parent)?;
        let rows = cargo_list::read(&request.cargo_list, &fleet).map_err(AppError::FileFaulty)?;
        self.write(call, async |unit: &mut Unit| import(unit, &fleet, &rows).await)
            .await
    }

    /// Writes the cargo list of a fleet, or of one vehicle of it.
    ///
    /// # Errors
    /// When the fleet or the vehicle does not exist.
    pub async fn export_cargo_list(
        &self,
        request: v1::ExportCargoListRequest,
    ) -> Result<v1::ExportCargoListResponse, AppError> {
        let (fleet, vehicle) = match name_of::<Vehicles>("name", &request.name) {
            Ok(vehicle) => (vehicle.fleet(), Some(vehicle)),
            Err(_) => (name_of::<Fleets>("name", &request.name)?, None),
        };
        let subject = vehicle.as_ref().unwrap_or(&fleet);
        if self.store().get(subject).await?.is_none() {
            return Err(AppError::NotFound {
                name: subject.to_string(),
            });
        }
        let items = self.cargo_items(&fleet, vehicle.as_ref()).await?;
        let cargo_list = cargo_list::write(&items).map_err(|source| AppError::Corrupt {
            name: request.name,
            source: Box::new(source),
        })?;
        Ok(v1::ExportCargoListResponse { cargo_list })
    }

    async fn cargo_items(
        &self,
        fleet: &Name,
        vehicle: Option<&Name>,
    ) -> Result<Vec<(Name, v1::CargoItem)>, AppError> {
        let mut items = Vec::new();
        let mut after: Option<String> = None;
        loop {
            let list = ostler_store::List {
                kind: CargoItems::WORD,
                parent: Some(fleet),
                after: after.as_deref(),
                limit: BATCH,
            };
            let rows = self.store().list(&list).await?;
            let Some(last) = rows.last() else { return Ok(items) };
            after = Some(last.name.clone());
            for row in rows {
                let stored = decode::<CargoItems>(row)?;
                if vehicle.is_none_or(|vehicle| stored.message.vehicle == **vehicle) {
                    items.push((stored.name, stored.message));
                }
            }
        }
    }
}

async fn import(
    unit: &mut Unit,
    fleet: &Name,
    rows: &[CargoRow],
) -> Result<v1::ImportCargoListResponse, AppError> {
    unit.get::<Fleets>(fleet).await?;
    let table = entry(CargoItems::WORD).ok_or_else(|| AppError::Corrupt {
        name: fleet.to_string(),
        source: "no cargo items".into(),
    })?;
    let known = unit.rows_of_fleet(fleet).await?;
    let mut messages = Vec::with_capacity(rows.len());
    for row in rows {
        let item = match known.get(&row.name).cloned() {
            Some(stored) => row.over(&decode::<CargoItems>(stored)?.message),
            None => row.item.clone(),
        };
        messages.push(item.transcode_to_dynamic());
    }
    let incoming = rows.iter().zip(&messages).map(|(row, message)| Incoming {
        word: CargoItems::WORD,
        name: &row.name,
        message,
    });
    let check = JointCheck::new(incoming.clone(), &known)?;
    let mut faults: Vec<Violation> = Vec::new();
    let mut batch = Batch::default();
    let mut answer = v1::ImportCargoListResponse::default();
    for (row, resource) in rows.iter().zip(incoming) {
        let mut own = check.missing_references(resource);
        own.extend(check.integrity(resource)?);
        faults.extend(
            own.iter()
                .map(|fault| row.violation(&fault.field, &fault.problem)),
        );
        let prepared = table.prepare(&row.name, resource.message)?;
        match known.get(&row.name) {
            None => {
                answer.created_count += 1;
                batch.create(prepared);
            }
            Some(known) if known.body == prepared.body => answer.unchanged_count += 1,
            Some(known) => {
                answer.updated_count += 1;
                batch.update(prepared, known.clone());
            }
        }
    }
    if !faults.is_empty() {
        return Err(AppError::FileFaulty(InvalidInput { violations: faults }));
    }
    unit.write_batch(batch, "import").await?;
    Ok(answer)
}
