//! Weighings: what was fitted then, which the server writes down so that later changes count, and one as baseline.

use std::collections::BTreeMap;

use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_store::Row;
use prost_reflect::ReflectMessage;

use super::fleet_file::FileResource;
use super::kind_table::typed;
use super::kinds::{Fitments, Kind, Vehicles, Weighings, name_of};
use super::standard::{step, wrong_state};
use super::stored::{Stored, decode};
use super::unit::Unit;
use super::{App, AppError, Call};

impl App {
    /// Makes a weighing the baseline of its vehicle.
    ///
    /// # Errors
    /// When it does not exist, cannot serve as one, or the vehicle was changed in between.
    pub async fn adopt_baseline(
        &self,
        call: &Call,
        request: v1::AdoptBaselineRequest,
    ) -> Result<v1::Vehicle, AppError> {
        self.write(call, async |unit: &mut Unit| adopt(unit, request).await)
            .await
    }
}

async fn adopt(unit: &mut Unit, request: v1::AdoptBaselineRequest) -> Result<v1::Vehicle, AppError> {
    let v1::AdoptBaselineRequest {
        name,
        vehicle_etag,
        request_id: _,
        validate_only: _,
    } = request;
    let name = name_of::<Weighings>("name", &name)?;
    let weighing = unit.get::<Weighings>(&name).await?;
    let vehicle = name_of::<Vehicles>("weighing.vehicle", &weighing.message.vehicle)?;
    if weighing.message.readings.is_none() {
        return Err(wrong_state(&weighing, "has no scale readings"));
    }
    let present = unit.get::<Vehicles>(&vehicle).await?.message;
    let slots = present.specification.map_or(0, |built| built.slots.len());
    if weighing.message.fitted_parts.is_empty() && slots > 0 {
        let problem = "does not say which parts were fitted, so that changes since would not count";
        return Err(wrong_state(&weighing, problem));
    }
    if present.baseline_weighing == name.to_string() {
        return Err(wrong_state(&weighing, "is the baseline of its vehicle already"));
    }
    if !present.baseline_weighing.is_empty() {
        let before = name_of::<Weighings>("baseline_weighing", &present.baseline_weighing)?;
        let before = unit.get::<Weighings>(&before).await?;
        // ISO dates order as texts.
        if before.message.weighed_date > weighing.message.weighed_date {
            let problem = format!("is older than the present baseline {}", before.name);
            return Err(wrong_state(&weighing, &problem));
        }
    }
    step(
        unit,
        vehicle.as_ref(),
        &vehicle_etag,
        "adopt baseline",
        |stored: &Stored<Vehicles>| {
            let mut vehicle = stored.message.clone();
            vehicle.baseline_weighing = name.to_string();
            Ok(vehicle)
        },
    )
    .await
}

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
