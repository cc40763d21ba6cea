//! Tanks and containers of a vehicle that goes, as the sums of fuel take them.

use std::collections::BTreeSet;

use crate::fuel::{Feed, FuelKind, Tank as FuelTank};
use crate::record::{DepartureVehicle, Fluid, Id, SupplyKind, Tank, TankMounting, Vehicle};

/// The fuel of the tanks that are fixed to the vehicle; what only containers hold may be for something
/// else, for example a generator.
pub(crate) fn engine_fuel(vehicle: &Vehicle) -> Result<Fluid, String> {
    let fixed: BTreeSet<Fluid> = vehicle
        .specification
        .tanks
        .iter()
        .filter(|tank| tank.mounting == TankMounting::Fixed && tank.fluid.is_fuel())
        .map(|tank| tank.fluid)
        .collect();
    match fixed.into_iter().collect::<Vec<_>>().as_slice() {
        [one] => Ok(*one),
        [] => Err(format!(
            "{} has no fixed fuel tank, so what its engine burns is not known",
            vehicle.display_name
        )),
        _ => Err(format!(
            "{} has fixed tanks of several fuels, so what its engine burns is not known",
            vehicle.display_name
        )),
    }
}

/// The fuel as the sums of fuel call it. `None`: it is none.
pub(crate) fn fuel_kind_of(fluid: Fluid) -> Option<FuelKind> {
    match fluid {
        Fluid::Diesel => Some(FuelKind::Diesel),
        Fluid::Petrol => Some(FuelKind::Petrol),
        Fluid::Water => None,
    }
}

/// What a supply point must give to fill up with `fluid`. `None`: it is no fuel.
pub(crate) fn supply_kind_of(fluid: Fluid) -> Option<SupplyKind> {
    match fluid {
        Fluid::Diesel => Some(SupplyKind::Diesel),
        Fluid::Petrol => Some(SupplyKind::Petrol),
        Fluid::Water => None,
    }
}

/// The tanks of some fluids in the order in which they are emptied.
pub(crate) fn tanks_of<'a>(
    vehicle: &'a Vehicle,
    going: &DepartureVehicle,
    wanted: impl Fn(Fluid) -> bool,
) -> Vec<&'a Tank> {
    let mut tanks = drawn_in_order(vehicle, Some(going));
    tanks.retain(|tank| wanted(tank.fluid));
    tanks
}

/// All tanks in the order in which they are emptied: those that the departure lists, then the others as specified.
pub(crate) fn drawn_in_order<'a>(vehicle: &'a Vehicle, going: Option<&DepartureVehicle>) -> Vec<&'a Tank> {
    let specification = &vehicle.specification;
    let mut tanks: Vec<&Tank> = going
        .iter()
        .flat_map(|going| &going.drawdown_order)
        .filter_map(|id| specification.tank(id))
        .collect();
    let listed: BTreeSet<&Id> = tanks.iter().map(|tank| &tank.id).collect();
    let rest: Vec<&Tank> = specification
        .tanks
        .iter()
        .filter(|tank| !listed.contains(&tank.id))
        .collect();
    tanks.extend(rest);
    tanks
}

/// The tanks with what the departure fills into them; else what is missing.
pub(crate) fn filled(tanks: &[&Tank], going: &DepartureVehicle) -> (Vec<FuelTank>, Vec<String>) {
    let mut missing = Vec::new();
    let mut filled = Vec::with_capacity(tanks.len());
    for tank in tanks {
        let fill = going.fills.iter().find(|fill| fill.tank == tank.id);
        let Some(fill) = fill else {
            missing.push(format!(
                "the departure does not say what is in {} ({})",
                tank.display_name, tank.id
            ));
            continue;
        };
        let Some(unusable_l) = tank.unusable_l else {
            missing.push(format!(
                "how much of {} ({}) cannot be drawn is not known",
                tank.display_name, tank.id
            ));
            continue;
        };
        let plumbed = tank.mounting == TankMounting::Fixed || tank.fluid == Fluid::Water;
        filled.push(FuelTank {
            id: tank.id.to_string(),
            feed: if plumbed { Feed::Engine } else { Feed::Decanted },
            capacity_l: tank.capacity_l,
            unusable_l,
            fill_limit_l: tank.capacity_l,
            fill_l: fill.volume_l,
        });
    }
    (filled, missing)
}
