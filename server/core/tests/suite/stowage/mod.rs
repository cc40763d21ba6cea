//! Checks of `ostler_core::stowage`.

#[path = "../../../examples/stowage/convoy.rs"]
mod convoy;
mod exact;
mod properties;
mod record;
mod refused;

use ostler_core::stowage::{BaseLoad, Convoy, ConvoyVehicle, ConvoyZone, Item, Place, SolveOptions};

use crate::builder::{id, name};

/// A small budget: debug builds are slow.
fn options(steps_max: u64) -> SolveOptions {
    SolveOptions {
        steps_max,
        give_up_share: 0.0,
        ..SolveOptions::default()
    }
}

/// A vehicle that is empty but for its base load, with one zone midway between the axles. Its axles bear half
/// each and are rated far above, so that only the gross mass matters.
fn vehicle(vehicle: &str, base_kg: f64, gross_mass_kg: f64) -> ConvoyVehicle {
    ConvoyVehicle {
        name: name(&format!("vehicles/{vehicle}")),
        wheelbase_mm: 3_000.0,
        gross_mass_kg,
        front_axle_rating_kg: 10.0 * gross_mass_kg,
        rear_axle_rating_kg: 10.0 * gross_mass_kg,
        roof_limit_kg: None,
        lateral_limit_kgm: None,
        zones: vec![zone("middle", 1_500.0)],
        states: vec![BaseLoad {
            load_state: "departure".to_owned(),
            total_kg: base_kg,
            front_axle_kg: base_kg / 2.0,
            rear_axle_kg: base_kg / 2.0,
            roof_kg: 0.0,
            lateral_moment_kgm: 0.0,
            zones_kg: vec![0.0],
            consumed_share_left: 1.0,
        }],
    }
}

fn zone(zone: &str, x_mm: f64) -> ConvoyZone {
    ConvoyZone {
        id: id(zone),
        x_mm,
        y_mm: 0.0,
        z_mm: None,
        limit_kg: None,
        on_roof: false,
        occupant_space: false,
    }
}

fn add_zone(vehicle: &mut ConvoyVehicle, zone: ConvoyZone) {
    vehicle.zones.push(zone);
    vehicle
        .states
        .iter_mut()
        .for_each(|state| state.zones_kg.push(0.0));
}

fn items(masses_kg: &[f64]) -> Vec<Item> {
    masses_kg
        .iter()
        .enumerate()
        .map(|(index, mass_kg)| Item {
            name: name(&format!("cargoItems/c{index}")),
            mass_kg: *mass_kg,
            consumed: false,
            now: None,
            pinned: false,
            bans: Vec::new(),
        })
        .collect()
}

fn place(vehicle: usize, zone: usize) -> Place {
    Place {
        vehicle,
        zone,
        own: None,
    }
}

fn convoy(vehicles: Vec<ConvoyVehicle>, items: Vec<Item>) -> Convoy {
    Convoy {
        vehicles,
        items,
        groups: Vec::new(),
    }
}
