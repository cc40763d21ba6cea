//! The fuel of a departure as a whole: every vehicle, what they can share, what more to carry.

use super::extra_fuel::{ExtraFuel, ExtraLoad, Planned, Room, extra_loads, least_extra_fuel, room};
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

/// What vehicles can give each other.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sharing {
    intervals: Vec<IntervalSharing>,
    missing: Vec<String>,
}

/// The fuel of a departure. Never fails: what cannot be computed is missing.
pub fn departure_fuel(loads: &ConvoyLoads) -> DepartureFuel {
    let (record, departure) = (&loads.record, &*loads.departure);
    let going = departure
        .vehicles
        .iter()
        .filter_map(|going| record.vehicles.get(&going.vehicle));
    let vehicles: Vec<VehicleFuel> = going
        .clone()
        .map(|vehicle| vehicle_fuel(record, departure, vehicle))
        .collect();
    let sharing = sharing(departure, &vehicles.iter().collect::<Vec<_>>());
    let rooms: Vec<Room> = going
        .clone()
        .map(|vehicle| room(record, departure, vehicle, &loads.states(vehicle)))
        .collect();
    let rooms: Vec<&Room> = rooms.iter().collect();
    let planned = least_extra_fuel(&record.fleet, departure, &rooms, &sharing);
    let extra: Vec<Vec<Option<ExtraLoad>>> = going
        .map(|vehicle| extra_loads(record, departure, vehicle, &loads.states(vehicle), &planned))
        .collect();
    put_together(vehicles, sharing, &planned, extra.iter())
}

/// The fuel of a departure from its parts: `extra` has what each vehicle takes, for each fuel that is `planned`.
pub(crate) fn put_together<'a>(
    vehicles: Vec<VehicleFuel>,
    sharing: Sharing,
    planned: &[Planned],
    extra: impl Iterator<Item = &'a Vec<Option<ExtraLoad>>> + Clone,
) -> DepartureFuel {
    let of_fuel = |(index, planned): (usize, &Planned)| {
        let mut fuel = planned.fuel.clone();
        let loads = extra.clone().filter_map(|loads| loads.get(index)?.clone());
        fuel.loads.extend(loads);
        fuel
    };
    DepartureFuel {
        vehicles,
        sharing: sharing.intervals,
        sharing_missing: sharing.missing,
        extra: planned.iter().enumerate().map(of_fuel).collect(),
    }
}

/// What the vehicles that go and are on record can give each other.
pub(crate) fn sharing(departure: &Departure, vehicles: &[&VehicleFuel]) -> Sharing {
    let is_known = |name: &Name| vehicles.iter().any(|fuel| fuel.vehicle == *name);
    let mut missing: Vec<String> = departure
        .vehicles
        .iter()
        .filter(|going| !is_known(&going.vehicle))
        .map(|going| format!("{} is not on record", going.vehicle))
        .chain(
            vehicles
                .iter()
                .filter(|fuel| fuel.sums.is_none())
                .map(|fuel| format!("the fuel of {} is not known", fuel.display_name)),
        )
        .collect();
    let mut intervals = Vec::new();
    for fuel in [Fluid::Diesel, Fluid::Petrol] {
        match share(departure, fuel, vehicles) {
            Ok(shared) => intervals.extend(shared),
            Err(refused) => missing.push(refused),
        }
    }
    Sharing { intervals, missing }
}

impl Sharing {
    /// The plans of one fuel.
    pub(super) fn of(&self, fuel: Fluid) -> impl Iterator<Item = &IntervalSharing> + Clone {
        self.intervals.iter().filter(move |one| one.fuel == fuel)
    }
}

/// The plans of one fuel, an entry per interval. Confirmed points are the same for all vehicles of a fuel,
/// and so are the intervals.
fn share(
    departure: &Departure,
    fuel: Fluid,
    vehicles: &[&VehicleFuel],
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
