//! Benchmarks of `ostler_core::fuel`.

use divan::Bencher;
use ostler_core::fuel::FuelKind;
use ostler_core::fuel::chance::{ChanceInput, ChanceLeg, Shape, chance_of_running_short};
use ostler_core::fuel::extra::{ContainerKind, ExtraInput, ExtraVehicle, least_extra};
use ostler_core::fuel::sampling::sample_running_short;
use ostler_core::fuel::sharing::{Convoy, ConvoyVehicle, plan_sharing};

/// A vehicle over ten legs of 50 l, with 15 % in hand.
fn ten_legs() -> ChanceInput {
    let leg = |n| ChanceLeg {
        leg: format!("L{n:02}"),
        mean_l: 50.0,
        spread_fraction: 0.1,
        refill: None,
    };
    ChanceInput {
        usable_at_start_l: 575.0,
        usable_capacity_l: 575.0,
        vehicle_spread_fraction: 0.08,
        shape: Shape::Lognormal,
        legs: (0..10).map(leg).collect(),
    }
}

#[divan::bench]
fn closed_form_over_ten_legs(bencher: Bencher) {
    let input = ten_legs();
    bencher.bench(|| chance_of_running_short(&input));
}

#[divan::bench(args = [10_000, 100_000, 1_000_000], sample_count = 5)]
fn samples_over_ten_legs(bencher: Bencher, samples: u32) {
    let input = ten_legs();
    bencher
        .counter(divan::counter::ItemsCount::new(samples))
        .bench(|| sample_running_short(&input, samples, 1));
}

/// Every third vehicle short, in steps that differ, so that the programme has work to do.
fn convoy(vehicles: usize, legs: usize) -> Convoy {
    let vehicle = |n: usize| {
        let need_l = 20.0 + (n % 5) as f64;
        let in_hand_l = if n.is_multiple_of(3) {
            -30.0 - n as f64
        } else {
            25.0 + n as f64
        };
        let start = need_l * legs as f64 * 1.2 + in_hand_l;
        ConvoyVehicle {
            vehicle: format!("V{n}"),
            kind: FuelKind::Diesel,
            usable_at_start_l: start,
            usable_capacity_l: start,
            leg_needs_l: vec![need_l; legs],
            reserve_l: need_l * legs as f64 * 0.2,
        }
    };
    Convoy {
        stops: (0..legs).map(|n| format!("S{n}")).collect(),
        vehicles: (0..vehicles).map(vehicle).collect(),
    }
}

#[divan::bench(args = [(4, 10), (12, 10), (12, 30), (40, 30)], sample_count = 5)]
fn sharing_vehicles_and_legs(bencher: Bencher, (vehicles, legs): (usize, usize)) {
    let convoy = convoy(vehicles, legs);
    bencher.bench(|| plan_sharing(&convoy));
}

#[divan::bench(args = [4, 12, 40], sample_count = 5)]
fn least_extra_by_vehicles(bencher: Bencher, vehicles: usize) {
    let kind = |fill_l: f64, empty_mass_kg| ContainerKind {
        name: format!("{fill_l} l"),
        fill_l,
        unusable_l: 0.2,
        empty_mass_kg,
    };
    let vehicle = |n: usize| ExtraVehicle {
        vehicle: format!("V{n}"),
        shortfall_l: if n.is_multiple_of(3) { 37.0 + n as f64 } else { 0.0 },
        mass_margin_kg: 60.0 + 5.0 * (n % 7) as f64,
        places: 8,
    };
    let input = ExtraInput {
        containers: vec![kind(20.0, 4.0), kind(10.0, 1.7), kind(25.0, 1.0)],
        vehicles: (0..vehicles).map(vehicle).collect(),
        density_kg_per_l: 0.84,
        pooled: true,
    };
    bencher.bench(|| least_extra(&input));
}
