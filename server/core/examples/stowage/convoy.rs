//! Random convoys to stow: invented vehicles in three load states, with pins, bans, groups and consumed items.

use ostler_core::record::{Id, Name};
use ostler_core::stowage::{Ban, BaseLoad, Convoy, ConvoyVehicle, ConvoyZone, Item, OwnPlace, Place};
use rand::RngExt;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// Mass above which an item does not go on a roof, kilograms.
const ROOF_ITEM_MAX_KG: f64 = 20.0;

/// Zones of every vehicle: id, x as a share of the wheelbase, y in millimetres, limit in kilograms.
const ZONES: [(&str, f64, f64, f64); 8] = [
    ("cabin", 0.55, 0.0, 60.0),
    ("cargo-front", 0.78, 0.0, 0.0),
    ("cargo-rear", 1.05, 0.0, 250.0),
    ("left-box", 0.9, -750.0, 90.0),
    ("right-box", 0.9, 750.0, 90.0),
    ("drawer", 1.15, 0.0, 120.0),
    ("rear-bar", 1.3, 0.0, 60.0),
    ("roof", 0.6, 0.0, 0.0),
];

/// A convoy of as many vehicles and items; the same for the same seed.
pub(crate) fn random_convoy(seed: u64, vehicles: usize, items: usize) -> Convoy {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let masses: Vec<f64> = (0..items).map(|_| random_mass_kg(&mut random)).collect();
    let share_kg = masses.iter().sum::<f64>() / vehicles as f64;
    let vehicles: Vec<ConvoyVehicle> = (0..vehicles)
        .map(|index| random_vehicle(&mut random, index, share_kg))
        .collect();
    let items: Vec<Item> = masses
        .iter()
        .enumerate()
        .map(|(index, mass_kg)| random_item(&mut random, index, *mass_kg, &vehicles))
        .collect();
    // Groups are of items that are not pinned, so that every group has a vehicle.
    let free: Vec<usize> = (0..items.len()).filter(|index| !items[*index].pinned).collect();
    let groups = free
        .chunks(3)
        .take(4 * free.len() / 100)
        .map(<[usize]>::to_vec)
        .collect();
    Convoy {
        vehicles,
        items,
        groups,
    }
}

fn random_mass_kg(random: &mut ChaCha8Rng) -> f64 {
    let kind: f64 = random.random();
    let mass_kg = if kind < 0.5 {
        random.random_range(0.5..8.0)
    } else if kind < 0.85 {
        random.random_range(8.0..25.0)
    } else {
        random.random_range(25.0..60.0)
    };
    (mass_kg * 10.0_f64).round() / 10.0
}

fn random_vehicle(random: &mut ChaCha8Rng, index: usize, share_kg: f64) -> ConvoyVehicle {
    let wheelbase_mm = random.random_range(2_700.0..3_300.0_f64).round();
    let gross_mass_kg = random.random_range(3_200.0..3_700.0_f64).round();
    let base_kg = gross_mass_kg - share_kg * random.random_range(1.3..1.9);
    let front_kg = base_kg * random.random_range(0.46..0.52);
    let zones: Vec<ConvoyZone> = ZONES
        .iter()
        .map(|(zone, x_share, y_mm, limit_kg)| ConvoyZone {
            id: id(zone),
            x_mm: (x_share * wheelbase_mm).round(),
            y_mm: *y_mm,
            z_mm: None,
            limit_kg: Some(*limit_kg).filter(|limit_kg| *limit_kg > 0.0),
            on_roof: *zone == "roof",
            occupant_space: *zone == "cabin",
        })
        .collect();
    // Fuel and water go from departure to the last state; more of them sits in front of the rear axle.
    let states = ["departure", "end of l1", "end of l2"]
        .iter()
        .enumerate()
        .map(|(state, name)| {
            let gone_kg = 70.0 * state as f64;
            BaseLoad {
                load_state: (*name).to_owned(),
                total_kg: base_kg - gone_kg,
                front_axle_kg: front_kg - 0.3 * gone_kg,
                rear_axle_kg: base_kg - front_kg - 0.7 * gone_kg,
                roof_kg: 0.0,
                lateral_moment_kgm: 0.0,
                zones_kg: vec![0.0; ZONES.len()],
                consumed_share_left: [1.0, 0.6, 0.1][state],
            }
        });
    ConvoyVehicle {
        name: name(&format!("vehicles/v{index}")),
        wheelbase_mm,
        gross_mass_kg,
        front_axle_rating_kg: (0.53 * gross_mass_kg).round(),
        rear_axle_rating_kg: (0.62 * gross_mass_kg).round(),
        roof_limit_kg: Some(random.random_range(50.0..100.0_f64).round()),
        lateral_limit_kgm: Some(120.0),
        states: states.collect(),
        zones,
    }
}

fn random_item(random: &mut ChaCha8Rng, index: usize, mass_kg: f64, vehicles: &[ConvoyVehicle]) -> Item {
    let mut bans = Vec::new();
    if random.random::<f64>() < 0.1 {
        bans.push(Ban::OccupantSpace);
    }
    if mass_kg > ROOF_ITEM_MAX_KG {
        bans.push(Ban::Roof);
    }
    if random.random::<f64>() < 0.05 {
        bans.push(Ban::Vehicle(random.random_range(0..vehicles.len())));
    }
    let (vehicle, zone) = (
        random.random_range(0..vehicles.len()),
        random.random_range(1..ZONES.len() - 2),
    );
    let own = (random.random::<f64>() < 0.3).then(|| OwnPlace {
        x_mm: vehicles[vehicle].zones[zone].x_mm + random.random_range(-200.0..200.0_f64).round(),
        y_mm: vehicles[vehicle].zones[zone].y_mm,
    });
    let now = (random.random::<f64>() > 0.05).then_some(Place { vehicle, zone, own });
    Item {
        name: name(&format!("cargoItems/c{index:03}")),
        mass_kg,
        consumed: random.random::<f64>() < 0.2,
        now,
        pinned: now.is_some() && mass_kg < 20.0 && random.random::<f64>() < 0.05,
        bans,
    }
}

fn name(rest: &str) -> Name {
    Name::new(format!("fleets/random/{rest}")).unwrap_or_else(|refused| unreachable!("{refused}"))
}

fn id(text: &str) -> Id {
    Id::new(text).unwrap_or_else(|refused| unreachable!("{refused}"))
}
