//! Stability of a vehicle of the record over a trip.
//!
//! The height of its centre of mass is on record for the vehicle as its baseline holds it. In a load state everything that was
//! added since (parts, people, fluids, cargo) counts with its mass at the height of its place, so the height of the whole
//! follows from moments. How well the places of the load are known is not on record and is left out of the uncertainty; so
//! are tanks in which liquid shifts, which the gate of tanks asks about.

use super::axle_lift::{ACCURACY, LIFT_CAUTION};
use super::summary::{Footprint, StabilitySummary, summarise};
use super::{
    AxleLift, CentreOfMassHeight, ItemHeight, Precondition, axle_lift_height, height_by_estimate,
    height_from_items,
};
use crate::check::InvalidInput;
use crate::loads::{Carried, LoadGroup, LoadLine, LoadResult};
use crate::record::{CentreHeight, CentreHeightSource, Record, TankFill, Vehicle};

/// Version of the formulas of this file. It changes when a result may change for the same record.
pub const FORMULA_VERSION: &str = "stability/1";

/// Height of the centre of mass of a vehicle as its baseline holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct BareHeight {
    /// The height.
    pub height: CentreOfMassHeight,
    /// What the vehicle weighed without fluids when it was measured, kilograms. `None`: estimated.
    pub mass_kg: Option<f64>,
    /// What whoever measured did not confirm.
    pub unconfirmed: Vec<Precondition>,
}

/// A vehicle of the record in one load state.
#[derive(Debug, Clone, PartialEq)]
pub struct StateStability {
    /// The moment.
    pub load_state: String,
    /// Height, factor and ceilings of the loaded vehicle.
    pub summary: StabilitySummary,
    /// Masses without a stated tolerance, which the uncertainty leaves out.
    pub untoleranced_count: u32,
}

/// Why there is no stability.
#[derive(Debug, Clone, PartialEq)]
pub enum NotStable {
    /// Something is missing: sentences.
    Missing(Vec<String>),
    /// The centre of mass lies outside the wheels, so that it does not stand: a sentence.
    Outside(String),
}

/// Height of the centre of mass of `vehicle` as its baseline holds it.
///
/// # Errors
/// What is missing or cannot be computed with, in sentences.
pub fn bare_height(record: &Record, vehicle: &Vehicle) -> Result<BareHeight, Vec<String>> {
    let name = &vehicle.display_name;
    let cannot = |refused: InvalidInput| {
        vec![format!(
            "the height of the centre of mass of {name} cannot be used: {refused}"
        )]
    };
    let Some(CentreHeight { source, fills, .. }) = &vehicle.specification.centre_height else {
        return Err(vec![format!(
            "the height of the centre of mass of {name} is not known"
        )]);
    };
    match source {
        CentreHeightSource::Estimate {
            height_mm,
            tolerance_mm,
        } => Ok(BareHeight {
            height: height_by_estimate(*height_mm, *tolerance_mm).map_err(cannot)?,
            mass_kg: None,
            unconfirmed: Vec::new(),
        }),
        CentreHeightSource::RaisedAxle(lift) => {
            let Some(wheelbase_mm) = vehicle.specification.wheelbase_mm else {
                return Err(vec![format!("the wheelbase of {name} is not known")]);
            };
            let measured = AxleLift {
                wheelbase_mm,
                ..lift.clone()
            };
            let found = axle_lift_height(&measured).map_err(cannot)?;
            let fluids = fluids_aboard(record, vehicle, fills)?;
            let fluids_kg: f64 = fluids.iter().map(|item| item.mass_kg).sum();
            let whole = ItemHeight {
                mass_kg: measured.mass_kg,
                mass_uncertainty_kg: measured.scale_uncertainty_kg,
                z_mm: found.height.height_mm,
                z_uncertainty_mm: found.height.uncertainty_mm,
            };
            let taken_away = fluids.into_iter().map(|item| ItemHeight {
                mass_kg: -item.mass_kg,
                ..item
            });
            let items: Vec<ItemHeight> = std::iter::once(whole).chain(taken_away).collect();
            Ok(BareHeight {
                height: CentreOfMassHeight {
                    method: found.height.method,
                    ..height_from_items(&items).map_err(cannot)?
                },
                mass_kg: Some(measured.mass_kg - fluids_kg),
                unconfirmed: found.unconfirmed,
            })
        }
    }
}

/// What was in the tanks, with the containers that the baseline does not hold.
fn fluids_aboard(
    record: &Record,
    vehicle: &Vehicle,
    fills: &[TankFill],
) -> Result<Vec<ItemHeight>, Vec<String>> {
    let mut items = Vec::new();
    for fill in fills.iter().filter(|fill| fill.volume_l > 0.0) {
        let tank = vehicle.specification.tank(&fill.tank);
        let tank = tank.ok_or_else(|| vec![format!("where {} sits is not known", fill.tank)])?;
        let density = record.fleet.fluid_densities_kg_per_l.get(&tank.fluid);
        let density_kg_per_l = *density.ok_or_else(|| {
            vec![format!(
                "the density of {} is not known to the fleet",
                tank.fluid.word()
            )]
        })?;
        let z_mm = tank.position.z_mm;
        let z_mm = z_mm.ok_or_else(|| vec![format!("how high {} sits is not known", tank.display_name)])?;
        let container_kg = tank.empty_mass.map_or(0.0, |mass| mass.mass_kg);
        items.push(exactly(fill.volume_l * density_kg_per_l + container_kg, z_mm));
    }
    Ok(items)
}

fn exactly(mass_kg: f64, z_mm: f64) -> ItemHeight {
    ItemHeight {
        mass_kg,
        mass_uncertainty_kg: 0.0,
        z_mm,
        z_uncertainty_mm: 0.0,
    }
}

/// Stability of `vehicle` in `state`, with the height that [`bare_height`] found.
///
/// # Errors
/// What is missing, or that the centre of mass lies outside the wheels.
pub fn stability_of(
    vehicle: &Vehicle,
    state: &LoadResult,
    bare: &BareHeight,
) -> Result<StateStability, NotStable> {
    let specification = &vehicle.specification;
    let name = &vehicle.display_name;
    let mut missing = state.missing.clone();
    let mut need = |number: Option<f64>, what: &str| {
        if number.is_none() {
            missing.push(format!("{what} of {name} is not known"));
        }
        number
    };
    let wheelbase_mm = need(specification.wheelbase_mm, "the wheelbase");
    let front_track_mm = need(specification.front_track_mm, "the track of the front axle");
    let rear_track_mm = need(specification.rear_track_mm, "the track of the rear axle");
    let x_mm = need(state.centre_x_mm, "how far aft the centre of mass lies");
    let stated_y_mm = specification
        .suspension
        .as_ref()
        .and_then(|suspension| suspension.bare_centre_y_mm);
    let y_mm = need(
        Carried::of(state).centre_y_mm(stated_y_mm),
        "how far the centre of mass lies to a side",
    );
    let items = items_of(state, bare, &mut missing);
    let (Some(wheelbase_mm), Some(track_front_mm), Some(track_rear_mm), Some(x_mm), Some(y_mm), true) = (
        wheelbase_mm,
        front_track_mm,
        rear_track_mm,
        x_mm,
        y_mm,
        missing.is_empty(),
    ) else {
        return Err(NotStable::Missing(missing));
    };
    let cannot = |refused: InvalidInput| {
        NotStable::Missing(vec![format!(
            "the stability of {name} cannot be computed: {refused}"
        )])
    };
    let height = height_from_items(&items).map_err(cannot)?;
    let half_track_mm = f64::midpoint(track_front_mm, track_rear_mm) / 2.0;
    if !(0.0..=wheelbase_mm).contains(&x_mm) || y_mm.abs() >= half_track_mm {
        let place = format!(
            "the centre of mass lies {x_mm:.0} mm aft and {y_mm:.0} mm to the right, outside the wheels"
        );
        return Err(NotStable::Outside(place));
    }
    let footprint = Footprint {
        wheelbase_mm,
        track_front_mm,
        track_rear_mm,
        track_uncertainty_mm: 0.0,
        centre_x_mm: x_mm,
        centre_y_mm: y_mm,
    };
    let mut summary = summarise(&footprint, height, bare.unconfirmed.clone()).map_err(cannot)?;
    if bare.mass_kg.is_some() {
        summary.cautions.extend([ACCURACY, LIFT_CAUTION]);
    }
    let untoleranced = state
        .lines
        .iter()
        .filter(|line| line.tolerance_kg.is_none())
        .count();
    Ok(StateStability {
        load_state: state.load_state.clone(),
        summary,
        untoleranced_count: u32::try_from(untoleranced).unwrap_or(u32::MAX),
    })
}

/// The bare vehicle and everything else with its height.
fn items_of(state: &LoadResult, bare: &BareHeight, missing: &mut Vec<String>) -> Vec<ItemHeight> {
    let mut items = Vec::with_capacity(state.lines.len());
    for line in &state.lines {
        let (z_mm, z_uncertainty_mm) = if line.group == LoadGroup::Baseline {
            (bare.height.height_mm, bare.height.uncertainty_mm)
        } else {
            let Some(z_mm) = height_of(line) else {
                missing.push(format!("how high {} sits is not known", line.display_name));
                continue;
            };
            (z_mm, 0.0)
        };
        items.push(ItemHeight {
            mass_kg: line.mass_kg,
            mass_uncertainty_kg: line.tolerance_kg.unwrap_or(0.0),
            z_mm,
            z_uncertainty_mm,
        });
    }
    items
}

fn height_of(line: &LoadLine) -> Option<f64> {
    line.position.and_then(|position| position.z_mm)
}
