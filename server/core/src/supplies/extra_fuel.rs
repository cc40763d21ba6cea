//! The least fuel to carry in addition, in which containers on which vehicle, and what it does to the axles.
//!
//! Asked after sharing: only what stays uncovered then. A vehicle takes containers where the departure has
//! places for them, as far as its total and axle margins allow at their tightest moment. What the
//! containers do is computed by the loads and the fuel of a copy of the record that carries them.

use super::convoy_fuel::Sharing;
use super::vehicle_fuel::vehicle_fuel;
use crate::fuel::extra::{ContainerKind, Extra, ExtraInput, ExtraPlan, ExtraVehicle, least_extra};
use crate::loads::{LimitedLoad, LoadResult, WorstLoad, compute, states_in_sums, worst, worst_of};
use crate::record::{
    Departure, ExtraFuelPlaces, Fleet, Fluid, FuelContainer, Id, Mass, MassProvenance, Name, Record, Tank,
    TankBuild, TankFill, TankMounting, Vehicle,
};

/// Litres below which a shortfall is rounding.
const SHORT_LEAST_L: f64 = 1e-6;

/// The least to carry in addition of one fuel.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraFuel {
    /// The fuel.
    pub fuel: Fluid,
    /// Whether it can be had with the containers and places on record.
    pub covered: bool,
    /// Sum of what is short after sharing, litres.
    pub shortfall_l: f64,
    /// The most that containers, places and margins allow towards it, litres.
    pub most_l: f64,
    /// Others than the vehicles that are short carry it and pass it on.
    pub passed_on: bool,
    /// What each vehicle takes.
    pub loads: Vec<ExtraLoad>,
    /// What is missing to tell.
    pub missing: Vec<String>,
}

/// Containers that a vehicle takes in addition.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraLoad {
    /// The vehicle.
    pub vehicle: Name,
    /// Number of containers by kind, those of which there are any.
    pub containers: Vec<(Id, u32)>,
    /// Usable litres added.
    pub usable_l: f64,
    /// Mass added, kilograms.
    pub mass_kg: f64,
    /// Smallest balance of the vehicle with them aboard, litres. `None`: not known.
    pub balance_after_l: Option<f64>,
    /// Every load that has a limit at its tightest moment, as it is.
    pub before: Vec<WorstLoad>,
    /// The same with the containers aboard.
    pub after: Vec<WorstLoad>,
}

/// What a vehicle can take in addition.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Room {
    vehicle: Name,
    display_name: String,
    /// Containers that it has places for.
    places: u32,
    /// By its total and its axles, kilograms. `None`: not known, or it has no places.
    margin_kg: Option<f64>,
}

/// The least to carry in addition of one fuel, before what it does to each vehicle is computed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Planned {
    /// Without its loads.
    pub(super) fuel: ExtraFuel,
    plan: Option<ExtraPlan>,
}

/// The least to carry in addition of each fuel that is short. `rooms` are those of the vehicles that go and are on record.
pub(crate) fn least_extra_fuel(
    fleet: &Fleet,
    departure: &Departure,
    rooms: &[&Room],
    sharing: &Sharing,
) -> Vec<Planned> {
    [Fluid::Diesel, Fluid::Petrol]
        .into_iter()
        .filter_map(|fuel| least_of(fleet, departure, rooms, fuel, sharing))
        .collect()
}

/// `None`: none of the fuel is short.
fn least_of(
    fleet: &Fleet,
    departure: &Departure,
    rooms: &[&Room],
    fuel: Fluid,
    sharing: &Sharing,
) -> Option<Planned> {
    let short = shortfalls(rooms, fuel, sharing);
    let shortfall_l: f64 = short.iter().map(|(_, litres)| litres).sum();
    if shortfall_l <= SHORT_LEAST_L {
        return None;
    }
    let mut missing = Vec::new();
    let density_kg_per_l = fleet.fluid_densities_kg_per_l.get(&fuel).copied();
    if density_kg_per_l.is_none() {
        missing.push(format!("the density of {} is not known", fuel.word()));
    }
    if departure.fuel_containers.is_empty() {
        missing.push("the departure has no fuel_containers: which kinds can be had is not known".to_owned());
    }
    let vehicles: Vec<ExtraVehicle> = short
        .iter()
        .map(|(room, shortfall_l)| extra_vehicle(room, *shortfall_l, &mut missing))
        .collect();
    let found = density_kg_per_l
        .filter(|_| !departure.fuel_containers.is_empty())
        .and_then(|density_kg_per_l| {
            let input = |pooled| ExtraInput {
                containers: departure.fuel_containers.iter().map(container_kind).collect(),
                vehicles: vehicles.clone(),
                density_kg_per_l,
                pooled,
            };
            least(input)
                .map_err(|refused| {
                    missing.push(format!("the least to carry cannot be computed: {refused}"));
                })
                .ok()
        });
    let (most_l, passed_on, plan) = match found {
        Some((Extra::Covered(plan), passed_on)) => (shortfall_l, passed_on, Some(plan)),
        Some((Extra::NotCovered { most_l, .. }, _)) => (most_l, false, None),
        None => (0.0, false, None),
    };
    let planned = ExtraFuel {
        fuel,
        covered: plan.is_some(),
        shortfall_l,
        most_l,
        passed_on,
        loads: Vec::new(),
        missing,
    };
    Some(Planned { fuel: planned, plan })
}

/// Every vehicle of the fuel with the most that it is short of after sharing in any interval.
fn shortfalls<'a>(rooms: &[&'a Room], fuel: Fluid, sharing: &Sharing) -> Vec<(&'a Room, f64)> {
    let of_fuel = sharing.of(fuel);
    let Some(first) = of_fuel.clone().next() else {
        return Vec::new();
    };
    let room_of = |name: &String| rooms.iter().find(|room| *room.vehicle == **name);
    let found = first.plan.vehicles.iter().filter_map(room_of).map(|room| {
        let worst_l = of_fuel
            .clone()
            .filter_map(|one| one.balance_after_l(&room.vehicle))
            .fold(0.0, f64::min);
        // What the solver leaves by rounding is no shortfall.
        (*room, if worst_l < -SHORT_LEAST_L { -worst_l } else { 0.0 })
    });
    found.collect()
}

/// First each vehicle for itself; where that does not suffice, others for it.
fn least(input: impl Fn(bool) -> ExtraInput) -> Result<(Extra, bool), crate::check::InvalidInput> {
    match least_extra(&input(false))? {
        Extra::Covered(plan) => Ok((Extra::Covered(plan), false)),
        Extra::NotCovered { .. } => Ok((least_extra(&input(true))?, true)),
    }
}

fn container_kind(container: &FuelContainer) -> ContainerKind {
    ContainerKind {
        name: container.id.to_string(),
        fill_l: container.fill_l,
        unusable_l: container.unusable_l,
        empty_mass_kg: container.empty_mass_kg,
    }
}

/// What a vehicle can take. One whose margins are not known takes nothing, and that is said where it has
/// places.
fn extra_vehicle(room: &Room, shortfall_l: f64, missing: &mut Vec<String>) -> ExtraVehicle {
    if room.places > 0 && room.margin_kg.is_none() {
        missing.push(format!("the margins of {} are not known", room.display_name));
    }
    ExtraVehicle {
        vehicle: room.vehicle.to_string(),
        shortfall_l,
        mass_margin_kg: room.margin_kg.unwrap_or(0.0).max(0.0),
        places: room.places,
    }
}

/// What a vehicle can take, by its load `states`.
pub(crate) fn room(record: &Record, departure: &Departure, vehicle: &Vehicle, states: &[LoadResult]) -> Room {
    let places = places_of(departure, vehicle);
    Room {
        vehicle: vehicle.name.clone(),
        display_name: vehicle.display_name.clone(),
        places: places.map_or(0, |places| places.count),
        margin_kg: places.and_then(|places| mass_margin_kg(record, departure, vehicle, states, places)),
    }
}

fn places_of(departure: &Departure, vehicle: &Vehicle) -> Option<ExtraFuelPlaces> {
    let mut all = departure.vehicles.iter();
    all.find(|going| going.vehicle == vehicle.name)?.extra_fuel_places
}

/// The most that the vehicle can take at its places by its total and its axles. The share of a mass there
/// that each of them carries is what the loads say of a probe.
fn mass_margin_kg(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    places: ExtraFuelPlaces,
) -> Option<f64> {
    const PROBE_KG: f64 = 1.0;
    let probe = |mass_kg| Load {
        capacity_l: 1.0,
        fill_l: 0.0,
        unusable_l: 0.0,
        empty_mass_kg: mass_kg,
    };
    // It is empty, so of which fuel it is does not matter.
    let (probed_vehicle, probed_departure) =
        with_containers(departure, vehicle, Fluid::Diesel, places, &[probe(PROBE_KG)]);
    let before = states.first()?;
    let after = compute(record, &probed_departure, &probed_vehicle);
    let mut least_kg: Option<f64> = None;
    for limited in [LimitedLoad::Total, LimitedLoad::FrontAxle, LimitedLoad::RearAxle] {
        let share = (limited.of(&after)?.load_kg - limited.of(before)?.load_kg) / PROBE_KG;
        let margin_kg = worst_of(states, &limited)?.1.margin_kg?;
        if share > 0.0 {
            let allowed_kg = margin_kg / share;
            least_kg = Some(least_kg.map_or(allowed_kg, |least_kg| least_kg.min(allowed_kg)));
        }
    }
    least_kg
}

/// Some equal containers together.
struct Load {
    capacity_l: f64,
    fill_l: f64,
    unusable_l: f64,
    empty_mass_kg: f64,
}

/// The vehicle and the departure with containers added at the places.
fn with_containers(
    departure: &Departure,
    vehicle: &Vehicle,
    fuel: Fluid,
    places: ExtraFuelPlaces,
    added: &[Load],
) -> (Vehicle, Departure) {
    let (mut vehicle, mut departure) = (vehicle.clone(), departure.clone());
    let going = departure
        .vehicles
        .iter_mut()
        .find(|going| going.vehicle == vehicle.name);
    let Some(going) = going else {
        return (vehicle, departure);
    };
    let taken = |vehicle: &Vehicle, id: &Id| vehicle.specification.tank(id).is_some();
    let mut ids = (0u32..)
        .filter_map(|number| Id::new(format!("extra-{number}")).ok())
        .filter(|id| !taken(&vehicle, id))
        .take(added.len())
        .collect::<Vec<Id>>()
        .into_iter();
    for (load, id) in added.iter().zip(ids.by_ref()) {
        going.fills.push(TankFill {
            tank: id.clone(),
            volume_l: load.fill_l,
        });
        vehicle.specification.tanks.push(Tank {
            display_name: format!("more fuel containers ({id})"),
            id,
            fluid: fuel,
            mounting: TankMounting::Container,
            capacity_l: load.capacity_l,
            unusable_l: Some(load.unusable_l),
            empty_mass: Some(Mass {
                mass_kg: load.empty_mass_kg,
                provenance: MassProvenance::Estimated,
                tolerance_kg: None,
            }),
            position: places.position,
            note: String::new(),
            restraint: None,
            build: TankBuild::default(),
        });
    }
    (vehicle, departure)
}

/// What the plan of each fuel does to a vehicle, by its load `states`. `None`: it takes nothing.
pub(crate) fn extra_loads(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    planned: &[Planned],
) -> Vec<Option<ExtraLoad>> {
    let planned = planned.iter();
    planned
        .map(|planned| extra_load(record, departure, vehicle, states, planned))
        .collect()
}

fn extra_load(
    record: &Record,
    departure: &Departure,
    vehicle: &Vehicle,
    states: &[LoadResult],
    planned: &Planned,
) -> Option<ExtraLoad> {
    let mut all = planned.plan.iter().flat_map(|plan| &plan.carried);
    let carried = all.find(|carried| *carried.vehicle == *vehicle.name)?;
    let places = places_of(departure, vehicle)?;
    let some: Vec<(&FuelContainer, u32)> = departure
        .fuel_containers
        .iter()
        .zip(carried.counts.iter().copied())
        .filter(|(_, count)| *count > 0)
        .collect();
    let added: Vec<Load> = some.iter().map(|(kind, count)| together(kind, *count)).collect();
    let (changed, with) = with_containers(departure, vehicle, planned.fuel.fuel, places, &added);
    let fuel_after = vehicle_fuel(record, &with, &changed);
    let tightest = fuel_after
        .sums
        .as_ref()
        .and_then(|sums| sums.requirement.tightest());
    Some(ExtraLoad {
        vehicle: vehicle.name.clone(),
        containers: some
            .iter()
            .map(|(kind, count)| (kind.id.clone(), *count))
            .collect(),
        usable_l: carried.usable_l,
        mass_kg: carried.mass_kg,
        balance_after_l: tightest.map(|interval| interval.balance_l),
        before: worst(states),
        after: worst(&states_in_sums(record, &with, &changed)),
    })
}

fn together(kind: &FuelContainer, count: u32) -> Load {
    let count = f64::from(count);
    Load {
        capacity_l: kind.fill_l * count,
        fill_l: kind.fill_l * count,
        unusable_l: kind.unusable_l * count,
        empty_mass_kg: kind.empty_mass_kg * count,
    }
}
