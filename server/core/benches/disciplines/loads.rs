//! Benchmarks of `ostler_core::loads`: a departure of four vehicles with 121 cargo lines.

use std::collections::BTreeMap;

use divan::{Bencher, black_box};
use ostler_core::loads::{compute, states};
use ostler_core::record::{
    CargoItem, CrewMember, Date, Departure, DepartureVehicle, Fleet, Fluid, Id, Leg, Mass, MassProvenance,
    Name, Policy, Position, Readings, Record, Specification, Tank, TankBuild, TankFill, TankMounting,
    Vehicle, Weighing, Zone,
};

const VEHICLES: usize = 4;
const CARGO_LINES: usize = 121;
const TANKS: usize = 4;
const PEOPLE: usize = 9;
const LEGS: usize = 10;

/// A name or id of the made-up fleet; they are all well formed.
fn name(rest: &str) -> Name {
    Name::new(format!("fleets/demo/{rest}")).unwrap_or_else(|refused| unreachable!("{refused}"))
}

fn id(text: &str) -> Id {
    Id::new(text).unwrap_or_else(|refused| unreachable!("{refused}"))
}

fn kg(mass_kg: f64) -> Mass {
    Mass {
        mass_kg,
        provenance: MassProvenance::Weighed,
        tolerance_kg: Some(1.0),
    }
}

fn at(x_mm: f64) -> Position {
    Position {
        x_mm,
        y_mm: 100.0,
        z_mm: None,
    }
}

fn fills() -> Vec<TankFill> {
    (0..TANKS)
        .map(|index| TankFill {
            tank: id(&format!("t{index}")),
            volume_l: 80.0,
        })
        .collect()
}

fn specification() -> Specification {
    let tank = |index: usize| Tank {
        id: id(&format!("t{index}")),
        display_name: format!("tank {index}"),
        fluid: Fluid::Diesel,
        mounting: TankMounting::Container,
        capacity_l: 100.0,
        unusable_l: None,
        empty_mass: Some(kg(8.0)),
        position: at(2_000.0),
        note: String::new(),
        restraint: None,
        build: TankBuild::default(),
    };
    let zone = |index: usize| Zone {
        id: id(&format!("z{index}")),
        display_name: format!("zone {index}"),
        position: Some(at(2_500.0)),
        limit_kg: Some(300.0),
        on_roof: index == 0,
        occupant_space: false,
    };
    Specification {
        wheelbase_mm: Some(3_000.0),
        gross_mass_kg: Some(3_500.0),
        front_axle_rating_kg: Some(1_700.0),
        rear_axle_rating_kg: Some(2_200.0),
        tanks: (0..TANKS).map(tank).collect(),
        zones: (0..8).map(zone).collect(),
        ..Specification::default()
    }
}

fn add_vehicle(record: &mut Record, index: usize) {
    let vehicle = Vehicle {
        name: name(&format!("vehicles/v{index}")),
        display_name: format!("V{index}"),
        role: String::new(),
        kind: None,
        specification: specification(),
        baseline_weighing: Some(name(&format!("weighings/w{index}"))),
        fitments: BTreeMap::new(),
    };
    let weighing = Weighing {
        name: name(&format!("weighings/w{index}")),
        vehicle: vehicle.name.clone(),
        weighed_date: Date::constant(2027, 3, 18),
        ticket: String::new(),
        readings: Some(Readings::Axles {
            front_kg: 1_250.0,
            rear_kg: 1_150.0,
        }),
        tolerance_kg: Some(5.0),
        fills: fills(),
        people: Vec::new(),
        other: Vec::new(),
        fitted_parts: BTreeMap::new(),
        includes: Vec::new(),
        heights: None,
    };
    record.vehicles.insert(vehicle.name.clone(), vehicle);
    record.weighings.insert(weighing.name.clone(), weighing);
}

fn cargo_line(index: usize) -> CargoItem {
    CargoItem {
        name: name(&format!("cargoItems/c{index:03}")),
        display_name: format!("box {index}"),
        vehicle: Some(name(&format!("vehicles/v{}", index % VEHICLES))),
        zone: Some(id(&format!("z{}", index % 8))),
        quantity: 1,
        unit_mass: Some(kg(12.0)),
        position: None,
        category: String::new(),
        restraint: None,
        consumed: false,
        critical: false,
        hazard: String::new(),
        shared_with: Vec::new(),
        pinned: false,
        spare_wheel: None,
        spares: Vec::new(),
        stowage_terms: Default::default(),
    }
}

fn record() -> Record {
    let mut record = Record::new(Fleet {
        name: name("vehicles/v0").fleet(),
        display_name: String::new(),
        description: String::new(),
        fluid_densities_kg_per_l: BTreeMap::from([(Fluid::Diesel, 0.84)]),
        stages: Vec::new(),
    });
    (0..VEHICLES).for_each(|index| add_vehicle(&mut record, index));
    for item in (0..CARGO_LINES).map(cargo_line) {
        record.cargo_items.insert(item.name.clone(), item);
    }
    record
}

fn leg(index: usize) -> Leg {
    Leg {
        id: id(&format!("l{index}")),
        start_place: String::new(),
        end_place: String::new(),
        planned_days: 1.0,
        map_distance_km: 160.0,
        surface_km: BTreeMap::from([(id("sand"), 160.0)]),
        idling_h: 0.0,
    }
}

fn departure(record: &Record) -> Departure {
    Departure {
        name: name("departures/d"),
        display_name: String::new(),
        departure_date: Date::constant(2027, 5, 24),
        departure_time_of_day: String::new(),
        return_date: Date::constant(2027, 6, 10),
        legs: (0..LEGS).map(leg).collect(),
        vehicles: record
            .vehicles
            .keys()
            .map(|vehicle| DepartureVehicle {
                vehicle: vehicle.clone(),
                fills: fills(),
                drawdown_order: Vec::new(),
                consumption_l_per_100km: BTreeMap::from([(id("sand"), 18.5)]),
                consumption_provenance: String::new(),
                consumption_basis: None,
                consumption_basis_by_surface: BTreeMap::new(),
                idling_l_per_h: None,
                odometer_factor: None,
                extra_fuel_places: None,
                power_plan: None,
                tyre_pressures: Vec::new(),
            })
            .collect(),
        crew: (0..PEOPLE)
            .map(|index| CrewMember {
                id: id(&format!("p{index}")),
                role: "driver".to_owned(),
                vehicle: Some(name(&format!("vehicles/v{}", index % VEHICLES))),
                mass: Some(kg(85.0)),
                position: Some(at(1_400.0)),
                driver: true,
            })
            .collect(),
        policy: Policy {
            route_allowance_factor: Some(1.06),
            water_plan_l_per_person_day: Some(7.0),
            ..Policy::default()
        },
        rule_packs: Vec::new(),
        supply_points: Vec::new(),
        status_date: None,
        job_order: Vec::new(),
        fuel_containers: Vec::new(),
    }
}

/// All four vehicles at departure and at the end of each of ten legs.
#[divan::bench]
fn convoy_in_eleven_states_of_121_cargo_lines(bencher: Bencher) {
    let record = record();
    let departure = departure(&record);
    bencher.bench_local(|| {
        record
            .vehicles
            .values()
            .map(|vehicle| states(black_box(&record), black_box(&departure), vehicle).len())
            .sum::<usize>()
    });
}

/// One vehicle in one load state.
#[divan::bench]
fn vehicle_state_of_121_cargo_lines(bencher: Bencher) {
    let record = record();
    let departure = departure(&record);
    let Some(vehicle) = record.vehicles.values().next() else {
        return;
    };
    bencher.bench_local(|| compute(black_box(&record), black_box(&departure), vehicle));
}

/// All four vehicles in one load state.
#[divan::bench]
fn convoy_of_121_cargo_lines(bencher: Bencher) {
    let record = record();
    let departure = departure(&record);
    bencher.bench_local(|| {
        record
            .vehicles
            .values()
            .map(|vehicle| {
                compute(black_box(&record), black_box(&departure), vehicle)
                    .lines
                    .len()
            })
            .sum::<usize>()
    });
}
