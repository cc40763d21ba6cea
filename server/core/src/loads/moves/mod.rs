//! The smallest single move of cargo that clears an axle over its rating.
//!
//! Every unpinned cargo item of the vehicle is tried in every zone with a known place, of its own vehicle
//! and of the others that go, lightest item first: the first move after which the axle is within its rating
//! at every moment, and after which no load of the vehicles concerned is over a limit that it was not over
//! before, is the smallest. A cargo item moves whole. Roofs and the space where people sit are never
//! proposed. Zones of the same vehicle come before those of others. A zone whose centre is not recorded
//! counts where the things in it sit on average.

mod foreseen;

use foreseen::Before;

use super::result::LoadResult;
use super::worst::{LimitedLoad, limited, worst_of};
use super::{ConvoyLoads, tally::is_number};
use crate::answer::Answer;
use crate::record::{CargoItem, Departure, Id, Name, Position, Record, Vehicle, Zone};

/// Most moves that are computed in full, which costs the load states of two vehicles: what is foreseen to be of no use is not.
const TRIALS_MAX: usize = 200;

/// Most that what is not burnt for want of an item is taken to relieve an axle of in the end, as a share of the item's mass: our own
/// reckoning, no source. Of 20 l in 100 km that grow with a mass of 3,000 kg, at 0.8 kg a litre, an item's share is a tenth of its mass
/// in 1,900 km. Where it is more, a move that would do may be passed over for a larger one.
const BURNT_FOR_ITEM: f64 = 0.1;

/// What counts as heavier, kilograms: more than a rounding error.
const HEAVIER_KG: f64 = 1e-6;

/// A move of one cargo item.
#[derive(Debug, Clone, PartialEq)]
pub struct CargoMove {
    /// The item.
    pub cargo_item: Name,
    /// Its name for people.
    pub display_name: String,
    /// Mass moved, kilograms.
    pub mass_kg: f64,
    /// The vehicle it goes to; it may be the one it is on.
    pub to_vehicle: Name,
    /// The zone it goes to.
    pub to_zone: Id,
    /// Where in it the item is taken to sit, millimetres aft of the front axle: the zone's centre, or that
    /// of the things in it.
    pub to_x_mm: f64,
    /// Margin of the axle after the move at its tightest moment, kilograms.
    pub margin_kg: f64,
}

/// The smallest single move that brings `axle` of `vehicle` within its rating at every moment. `None`: it
/// is not over, no single move does it, or too much is missing to tell.
pub fn smallest_move(loads: &ConvoyLoads, vehicle: &Vehicle, axle: &LimitedLoad) -> Option<CargoMove> {
    let ConvoyLoads {
        record, departure, ..
    } = loads;
    let own_states: &[LoadResult] = &loads.states(vehicle);
    let excess_kg = excess_kg(own_states, axle)?;
    let wheelbase_mm = vehicle
        .specification
        .wheelbase_mm
        .filter(|wheelbase_mm| *wheelbase_mm > 0.0)?;
    let own = Before {
        states: own_states,
        follows_mass: loads.follows_mass(vehicle),
    };
    let is_enough = |candidate: &Candidate<'_>| {
        let for_less_burnt_kg = match candidate.leaves && own.follows_mass {
            true => BURNT_FOR_ITEM * candidate.mass_kg,
            false => 0.0,
        };
        candidate.relief_kg(axle, wheelbase_mm) + for_less_burnt_kg >= excess_kg
    };
    let mut candidates = candidates(record, departure, vehicle, is_enough);
    candidates.sort_by(|left, right| {
        left.mass_kg
            .total_cmp(&right.mass_kg)
            .then_with(|| left.leaves.cmp(&right.leaves))
            .then_with(|| {
                let relief = |candidate: &Candidate<'_>| candidate.relief_kg(axle, wheelbase_mm);
                relief(right).total_cmp(&relief(left))
            })
    });
    candidates
        .iter()
        .filter(|candidate| {
            let other = Before {
                states: &loads.states(candidate.to),
                follows_mass: loads.follows_mass(candidate.to),
            };
            !candidate.is_hopeless(axle, wheelbase_mm, own, other)
        })
        .take(TRIALS_MAX)
        .find_map(|candidate| {
            let other_before = loads.states(candidate.to);
            tried(loads, vehicle, axle, (own_states, &other_before), candidate)
        })
}

/// By how much an axle is over at its worst moment.
fn excess_kg(states: &[LoadResult], axle: &LimitedLoad) -> Option<f64> {
    let margin_kg = states
        .iter()
        .filter_map(|state| axle.of(state)?.margin_kg)
        .min_by(f64::total_cmp)?;
    (margin_kg < 0.0).then_some(-margin_kg)
}

struct Candidate<'a> {
    item: &'a CargoItem,
    mass_kg: f64,
    from_x_mm: f64,
    to: &'a Vehicle,
    zone: &'a Id,
    place: Position,
    /// It goes to another vehicle.
    leaves: bool,
}

impl Candidate<'_> {
    /// What the move takes off an axle before anything of the item is consumed, kilograms.
    fn relief_kg(&self, axle: &LimitedLoad, wheelbase_mm: f64) -> f64 {
        let (whole_kg, moved_mm) = if self.leaves {
            (self.mass_kg, self.from_x_mm)
        } else {
            (0.0, self.from_x_mm - self.place.x_mm)
        };
        let rear_kg = self.mass_kg * moved_mm / wheelbase_mm;
        match axle {
            LimitedLoad::RearAxle => rear_kg,
            _ => whole_kg - rear_kg,
        }
    }
}

/// Every move of an item of `vehicle` that `is_enough`.
fn candidates<'a>(
    record: &'a Record,
    departure: &Departure,
    vehicle: &'a Vehicle,
    is_enough: impl Fn(&Candidate<'a>) -> bool,
) -> Vec<Candidate<'a>> {
    let going = departure
        .vehicles
        .iter()
        .filter_map(|going| record.vehicles.get(&going.vehicle));
    let places: Vec<(&Vehicle, &Zone, Position)> = going
        .flat_map(|to| to.specification.zones.iter().map(move |zone| (to, zone)))
        .filter(|(_, zone)| !zone.on_roof && !zone.occupant_space)
        .filter_map(|(to, zone)| Some((to, zone, place_of(record, to, zone)?)))
        .collect();
    let mut candidates = Vec::new();
    for item in record.cargo_items.values() {
        if item.pinned || item.vehicle.as_ref() != Some(&vehicle.name) {
            continue;
        }
        let zone = item
            .zone
            .as_ref()
            .and_then(|zone| vehicle.specification.zone(zone));
        let from = item.position.or_else(|| zone.and_then(|zone| zone.position));
        let (Some(mass_kg), Some(from)) = (item.mass_kg(), from) else {
            continue;
        };
        for (to, zone, place) in &places {
            let leaves = to.name != vehicle.name;
            if leaves || item.zone.as_ref() != Some(&zone.id) {
                let candidate = Candidate {
                    item,
                    mass_kg,
                    from_x_mm: from.x_mm,
                    to,
                    zone: &zone.id,
                    place: *place,
                    leaves,
                };
                if is_enough(&candidate) {
                    candidates.push(candidate);
                }
            }
        }
    }
    candidates
}

/// Where a thing put into a zone sits: at its centre, else where the things in it sit on average. `None`:
/// not known.
pub(crate) fn place_of(record: &Record, vehicle: &Vehicle, zone: &Zone) -> Option<Position> {
    if zone.position.is_some() {
        return zone.position;
    }
    let mut mass_kg = 0.0;
    let mut moments = (0.0, 0.0);
    for item in record.cargo_items.values() {
        if item.vehicle.as_ref() == Some(&vehicle.name)
            && item.zone.as_ref() == Some(&zone.id)
            && let (Some(own_kg), Some(position)) = (item.mass_kg(), item.position)
        {
            mass_kg += own_kg;
            moments.0 += own_kg * position.x_mm;
            moments.1 += own_kg * position.y_mm;
        }
    }
    let (x_mm, y_mm) = (moments.0 / mass_kg, moments.1 / mass_kg);
    (mass_kg > 0.0 && is_number(x_mm) && is_number(y_mm)).then_some(Position {
        x_mm,
        y_mm,
        z_mm: None,
    })
}

/// Computes a move in full. `None`: it does not clear the axle, or puts something else over.
fn tried(
    loads: &ConvoyLoads,
    vehicle: &Vehicle,
    axle: &LimitedLoad,
    (before, other_before): (&[LoadResult], &[LoadResult]),
    candidate: &Candidate<'_>,
) -> Option<CargoMove> {
    let moved = CargoItem {
        vehicle: Some(candidate.to.name.clone()),
        zone: Some(candidate.zone.clone()),
        position: Some(candidate.place),
        ..candidate.item.clone()
    };
    let after = loads.with_moved(&moved, vehicle);
    let margin_kg = after
        .iter()
        .filter_map(|state| axle.of(state)?.margin_kg)
        .min_by(f64::total_cmp)?;
    if margin_kg < 0.0 || puts_over(before, &after) {
        return None;
    }
    if candidate.leaves && puts_over(other_before, &loads.with_moved(&moved, candidate.to)) {
        return None;
    }
    Some(CargoMove {
        cargo_item: candidate.item.name.clone(),
        display_name: candidate.item.display_name.clone(),
        mass_kg: candidate.mass_kg,
        to_vehicle: candidate.to.name.clone(),
        to_zone: candidate.zone.clone(),
        to_x_mm: candidate.place.x_mm,
        margin_kg,
    })
}

/// Whether something is over a limit afterwards, or cannot be told to be within it, that was not before or
/// has become heavier.
fn puts_over(before: &[LoadResult], after: &[LoadResult]) -> bool {
    limited(after).any(|limited| {
        let Some((_, now)) = worst_of(after, &limited) else {
            return false;
        };
        now.answer >= Answer::NotKnown
            && !worst_of(before, &limited)
                .is_some_and(|(_, was)| was.answer >= now.answer && now.load_kg <= was.load_kg + HEAVIER_KG)
    })
}
