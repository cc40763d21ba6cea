//! The fuel of a departure as a whole: every vehicle, what they can share, what more to carry.

use super::extra_fuel::{ExtraFuel, extra_fuel};
use super::tanks::fuel_kind_of;
use super::vehicle_fuel::{FuelSums, VehicleFuel, vehicle_fuel};
use crate::fuel::sharing::{Convoy, ConvoyVehicle, KindSharing, plan_sharing};
use crate::loads::ConvoyLoads;
use crate::record::{Departure, Fluid, Name};

/// The fuel of a departure.
#[derive(Debug, Clone, PartialEq)]
pub struct DepartureFuel {
    /// Every vehicle that goes and is on record, in the order of the departure.
    pub vehicles: Vec<VehicleFuel>,
    /// What vehicles of one fuel can give each other, by fuel and interval.
    pub sharing: Vec<IntervalSharing>,
    /// What the sharing is missing. Not empty: it leaves vehicles out, so it is no answer.
    pub sharing_missing: Vec<String>,
    /// The least to carry in addition, for each fuel that is short after sharing.
    pub extra: Vec<ExtraFuel>,
}

impl DepartureFuel {
    /// The fuel of `vehicle`.
    pub fn of(&self, vehicle: &Name) -> Option<&VehicleFuel> {
        self.vehicles.iter().find(|fuel| fuel.vehicle == *vehicle)
    }
}

/// What the vehicles of one fuel can give each other between two confirmed fuel points.
#[derive(Debug, Clone, PartialEq)]
pub struct IntervalSharing {
    /// The fuel.
    pub fuel: Fluid,
    /// Number of the interval on the way, from 0.
    pub interval: usize,
    /// Where it starts.
    pub start: String,
    /// Where it ends.
    pub end: String,
    /// Balance of every vehicle before the moves, litres, in the order of the plan's vehicles.
    pub balance_before_l: Vec<f64>,
    /// The plan; its vehicles are full names.
    pub plan: KindSharing,
}

impl IntervalSharing {
    /// Balance of `vehicle` after the moves, litres. `None`: it has no part in it.
    pub fn balance_after_l(&self, vehicle: &Name) -> Option<f64> {
        let index = self.plan.vehicles.iter().position(|name| *name == **vehicle)?;
        self.plan.balance_after_l.get(index).copied()
    }
}

/// The fuel of a departure. Never fails: what cannot be computed is missing.
pub fn departure_fuel(loads: &ConvoyLoads<'_>) -> DepartureFuel {
    let ConvoyLoads {
        record, departure, ..
    } = loads;
    let vehicles: Vec<VehicleFuel> = departure
        .vehicles
        .iter()
        .filter_map(|going| record.vehicles.get(&going.vehicle))
        .map(|vehicle| vehicle_fuel(record, departure, vehicle))
        .collect();
    let mut sharing_missing: Vec<String> = departure
        .vehicles
        .iter()
        .filter(|going| !record.vehicles.contains_key(&going.vehicle))
        .map(|going| format!("{} is not on record", going.vehicle))
        .chain(
            vehicles
                .iter()
                .filter(|fuel| fuel.sums.is_none())
                .map(|fuel| format!("the fuel of {} is not known", fuel.display_name)),
        )
        .collect();
    let mut sharing = Vec::new();
    for fuel in [Fluid::Diesel, Fluid::Petrol] {
        match share(departure, fuel, &vehicles) {
            Ok(intervals) => sharing.extend(intervals),
            Err(refused) => sharing_missing.push(refused),
        }
    }
    let extra = [Fluid::Diesel, Fluid::Petrol]
        .into_iter()
        .filter_map(|fuel| extra_fuel(loads, fuel, &sharing))
        .collect();
    DepartureFuel {
        vehicles,
        sharing,
        sharing_missing,
        extra,
    }
}

/// The plans of one fuel, an entry per interval. Confirmed points are the same for all vehicles of a fuel,
/// and so are the intervals.
fn share(
    departure: &Departure,
    fuel: Fluid,
    vehicles: &[VehicleFuel],
) -> Result<Vec<IntervalSharing>, String> {
    let of_kind: Vec<(&Name, &FuelSums)> = vehicles
        .iter()
        .filter_map(|vehicle| Some((&vehicle.vehicle, vehicle.sums.as_ref()?)))
        .filter(|(_, sums)| fuel_kind_of(fuel) == Some(sums.kind))
        .collect();
    let Some((_, first)) = of_kind.first() else {
        return Ok(Vec::new());
    };
    let mut sharing = Vec::new();
    for (index, interval) in first.requirement.intervals.iter().enumerate() {
        let stops = departure.legs.get(interval.legs.clone()).unwrap_or_default();
        let convoy = Convoy {
            stops: stops.iter().map(|leg| leg.start_place.clone()).collect(),
            vehicles: of_kind
                .iter()
                .filter_map(|(name, sums)| in_interval(name, sums, index))
                .collect(),
        };
        let balance_before_l = convoy.vehicles.iter().map(ConvoyVehicle::balance_l).collect();
        let plans = plan_sharing(&convoy)
            .map_err(|refused| format!("the sharing of {} cannot be planned: {refused}", fuel.word()))?;
        sharing.extend(plans.into_iter().map(|plan| IntervalSharing {
            fuel,
            interval: index,
            start: interval.start.clone(),
            end: interval.end.clone(),
            balance_before_l: Vec::clone(&balance_before_l),
            plan,
        }));
    }
    Ok(sharing)
}

fn in_interval(name: &Name, sums: &FuelSums, index: usize) -> Option<ConvoyVehicle> {
    let interval = sums.requirement.intervals.get(index)?;
    let legs = sums.route.legs.get(interval.legs.clone())?;
    Some(ConvoyVehicle {
        vehicle: name.to_string(),
        kind: sums.kind,
        usable_at_start_l: interval.usable_at_start_l,
        usable_capacity_l: sums.usable_capacity_l,
        leg_needs_l: legs.iter().map(|leg| leg.litres).collect(),
        reserve_l: interval.reserve_l,
    })
}
