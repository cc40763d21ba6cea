//! What was fitted when a vehicle was weighed: the server writes it down, so that later changes count.

use std::collections::BTreeMap;

use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_store::Row;
use prost_reflect::ReflectMessage;

use super::AppError;
use super::fleet_file::FileResource;
use super::kind_table::typed;
use super::kinds::{Fitments, Kind, Vehicles, Weighings, name_of};
use super::stored::decode;
use super::unit::Unit;

/// Adds to a new weighing the parts that were fitted on its day, where it does not say so itself.
///
/// # Errors
/// When the vehicle's fitments cannot be read.
pub(super) async fn complete(unit: &mut Unit, weighing: &mut v1::Weighing) -> Result<(), AppError> {
    let Ok(vehicle) = name_of::<Vehicles>("weighing.vehicle", &weighing.vehicle) else {
        return Ok(());
    };
    let mut fitments = Vec::new();
    for row in unit
        .backing()
        .descendants(&vehicle)
        .await?
        .into_iter()
        .filter(|row| row.kind == Fitments::WORD)
    {
        let stored = decode::<Fitments>(row)?;
        fitments.push((stored.name, stored.message));
    }
    snapshot(weighing, fitments.iter().map(|(name, fitment)| (name, fitment)));
    Ok(())
}

/// The same for the weighings of a fleet file, with the fitments as they will be after the import.
///
/// # Errors
/// When a message is not of its kind.
pub(super) fn complete_file(
    resources: &mut [FileResource],
    known: &BTreeMap<Name, Row>,
) -> Result<(), AppError> {
    let mut fitments: BTreeMap<Name, v1::Fitment> = BTreeMap::new();
    for (name, row) in known.iter().filter(|(_, row)| row.kind == Fitments::WORD) {
        fitments.insert(name.clone(), decode::<Fitments>(row.clone())?.message);
    }
    for resource in resources
        .iter()
        .filter(|resource| resource.word == Fitments::WORD)
    {
        fitments.insert(resource.name.clone(), typed::<Fitments>(&resource.message)?);
    }
    for resource in resources
        .iter_mut()
        .filter(|resource| resource.word == Weighings::WORD)
    {
        let mut weighing = typed::<Weighings>(&resource.message)?;
        let vehicle = weighing.vehicle.clone();
        let own = fitments
            .iter()
            .filter(|(name, _)| name.parent().is_some_and(|parent| *parent == *vehicle));
        snapshot(&mut weighing, own);
        resource.message = weighing.transcode_to_dynamic();
    }
    Ok(())
}

fn snapshot<'a>(weighing: &mut v1::Weighing, fitments: impl Iterator<Item = (&'a Name, &'a v1::Fitment)>) {
    for (name, fitment) in fitments {
        // ISO dates order as texts; a fitment without a date was there before any weighing.
        if fitment.fitted_date <= weighing.weighed_date {
            weighing
                .fitted_parts
                .entry(name.id().to_owned())
                .or_insert_with(|| fitment.part.clone());
        }
    }
}
