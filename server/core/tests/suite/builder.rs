//! A small fleet to compute with: one vehicle, everything about it known and every mass with a
//! tolerance. Tests change what they are about.

#![cfg(test)]

use std::collections::BTreeMap;

use ostler_core::fuel::consumption::RateProvenance;
use ostler_core::fuel::reserve::ReservePolicy;
use ostler_core::record::{
    AboardMass, CargoItem, ConsumptionBasis, CrewMember, Date, Departure, DepartureVehicle, Fitment, Fleet,
    Fluid, Id, Leg, Mass, MassProvenance, Name, Part, Policy, Position, Readings, Record, Restraint, Roof,
    Slot, Specification, Tank, TankBuild, TankFill, TankMounting, Vehicle, VehicleSystem, WaterPlan,
    Weighing, Zone,
};

pub(crate) fn id(text: &str) -> Id {
    Id::new(text).unwrap()
}

/// `vehicles/v1` of the fleet.
pub(crate) fn name(rest: &str) -> Name {
    Name::new(format!("fleets/demo/{rest}")).unwrap()
}

pub(crate) fn date(text: &str) -> Date {
    text.parse().unwrap()
}

pub(crate) fn kg(mass_kg: f64, tolerance_kg: f64) -> Mass {
    Mass {
        mass_kg,
        provenance: MassProvenance::Weighed,
        tolerance_kg: Some(tolerance_kg),
    }
}

pub(crate) fn at(x_mm: f64, y_mm: f64) -> Position {
    Position {
        x_mm,
        y_mm,
        z_mm: None,
    }
}

pub(crate) fn fill(tank: &str, volume_l: f64) -> TankFill {
    TankFill {
        tank: id(tank),
        volume_l,
    }
}

pub(crate) fn tank(tank: &str, fluid: Fluid, capacity_l: f64, position: Position) -> Tank {
    Tank {
        id: id(tank),
        display_name: format!("tank {tank}"),
        fluid,
        mounting: TankMounting::Fixed,
        capacity_l,
        unusable_l: Some(2.0),
        empty_mass: None,
        position,
        note: String::new(),
        restraint: None,
        build: TankBuild::default(),
    }
}

/// Held by `capacity_n` in every direction.
pub(crate) fn held_by(capacity_n: f64) -> Restraint {
    Restraint {
        method: "bolted".to_owned(),
        capacity_forward_n: Some(capacity_n),
        capacity_rearward_n: Some(capacity_n),
        capacity_sideways_n: Some(capacity_n),
        capacity_upward_n: Some(capacity_n),
        ..Restraint::default()
    }
}

pub(crate) fn zone(zone: &str, x_mm: f64, limit_kg: Option<f64>, on_roof: bool) -> Zone {
    Zone {
        id: id(zone),
        display_name: zone.to_owned(),
        position: Some(at(x_mm, 0.0)),
        limit_kg,
        on_roof,
        occupant_space: false,
    }
}

pub(crate) fn part(part: &str, mass: Option<Mass>) -> Part {
    Part {
        name: name(&format!("parts/{part}")),
        display_name: format!("part {part}"),
        number: part.to_owned(),
        variant: String::new(),
        kind: id("gearbox"),
        mass,
        interfaces: Vec::new(),
        figures: BTreeMap::new(),
        hand: None,
        note: String::new(),
        adapter: None,
        gearing: None,
        tyre: None,
        wheel: None,
        spare_demand: None,
    }
}

pub(crate) fn cargo(item: &str, vehicle: &str, zone: &str, mass: Mass) -> CargoItem {
    CargoItem {
        name: name(&format!("cargoItems/{item}")),
        display_name: format!("item {item}"),
        vehicle: Some(name(&format!("vehicles/{vehicle}"))),
        zone: Some(id(zone)),
        quantity: 1,
        unit_mass: Some(mass),
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

pub(crate) fn person(person: &str, vehicle: &str, mass: Mass, position: Position) -> CrewMember {
    CrewMember {
        id: id(person),
        role: format!("role {person}"),
        vehicle: Some(name(&format!("vehicles/{vehicle}"))),
        mass: Some(mass),
        position: Some(position),
        driver: true,
    }
}

pub(crate) fn fitment(vehicle: &str, slot: &str, part: &str) -> Fitment {
    Fitment {
        name: name(&format!("vehicles/{vehicle}/fitments/{slot}")),
        part: Some(name(&format!("parts/{part}"))),
        fitted_date: None,
        facts: BTreeMap::new(),
        substitution: None,
        note: String::new(),
    }
}

pub(crate) fn slot(slot: &str, x_mm: f64) -> Slot {
    Slot {
        id: id(slot),
        kind: id("gearbox"),
        system: VehicleSystem::Driveline,
        position: Some(at(x_mm, 0.0)),
        requirements: Vec::new(),
    }
}

/// A vehicle with a weighing of 2,400 kg, a gearbox 20 kg heavier than when weighed, two tanks, a roof
/// and a limited zone. Wheelbase 3,000 mm.
pub(crate) fn vehicle(vehicle: &str) -> Vehicle {
    let mut fitted = fitment(vehicle, "gearbox", "new-box");
    fitted.fitted_date = Some(date("2027-04-10"));
    Vehicle {
        name: name(&format!("vehicles/{vehicle}")),
        display_name: vehicle.to_uppercase(),
        role: String::new(),
        kind: None,
        specification: Specification {
            wheelbase_mm: Some(3_000.0),
            front_track_mm: Some(1_500.0),
            rear_track_mm: Some(1_500.0),
            gross_mass_kg: Some(3_500.0),
            original_gross_mass_kg: Some(3_200.0),
            front_axle_rating_kg: Some(1_700.0),
            rear_axle_rating_kg: Some(2_200.0),
            declared_mass: None,
            roof: Some(Roof {
                limit_kg: Some(150.0),
                rack_mass_kg: Some(30.0),
                rack_rating_kg: Some(120.0),
                rack_offroad_factor: Some(0.5),
            }),
            tanks: vec![
                tank("main", Fluid::Diesel, 100.0, at(2_000.0, 300.0)),
                Tank {
                    empty_mass: Some(kg(4.0, 0.1)),
                    ..tank("water", Fluid::Water, 60.0, at(1_800.0, -300.0))
                },
            ],
            slots: vec![slot("gearbox", 900.0)],
            zones: vec![
                zone("roof", 1_500.0, None, true),
                zone("rear", 3_300.0, Some(200.0), false),
            ],
            driver_side: None,
            driveline: None,
            suspension: None,
            electrical: None,
            tyre_placard: None,
            centre_height: None,
        },
        baseline_weighing: Some(name(&format!("weighings/{vehicle}-first"))),
        fitments: BTreeMap::from([(id("gearbox"), fitted)]),
    }
}

pub(crate) fn weighing(vehicle: &str) -> Weighing {
    Weighing {
        name: name(&format!("weighings/{vehicle}-first")),
        vehicle: name(&format!("vehicles/{vehicle}")),
        weighed_date: date("2027-03-18"),
        ticket: "T-1".to_owned(),
        readings: Some(Readings::Axles {
            front_kg: 1_250.0,
            rear_kg: 1_150.0,
        }),
        tolerance_kg: Some(5.0),
        fills: vec![fill("main", 50.0)],
        people: vec![AboardMass {
            display_name: "weigher".to_owned(),
            mass: kg(80.0, 1.0),
            position: at(1_400.0, 300.0),
        }],
        other: Vec::new(),
        fitted_parts: BTreeMap::from([(id("gearbox"), Some(name("parts/old-box")))]),
        includes: Vec::new(),
        heights: None,
    }
}

/// The record of `vehicle("v1")` with two parts, a box on the roof and two in the rear.
pub(crate) fn record() -> Record {
    let mut record = Record::new(Fleet {
        name: Name::new("fleets/demo").unwrap(),
        display_name: "Demo".to_owned(),
        description: String::new(),
        fluid_densities_kg_per_l: BTreeMap::from([(Fluid::Diesel, 0.84), (Fluid::Water, 1.0)]),
        stages: Vec::new(),
    });
    for part in [
        part("old-box", Some(kg(60.0, 0.5))),
        part("new-box", Some(kg(80.0, 0.5))),
    ] {
        record.parts.insert(part.name.clone(), part);
    }
    add_vehicle(&mut record, vehicle("v1"), weighing("v1"));
    add_cargo(&mut record, cargo("tent", "v1", "roof", kg(30.0, 1.0)));
    add_cargo(
        &mut record,
        CargoItem {
            quantity: 2,
            ..cargo("crate", "v1", "rear", kg(40.0, 1.0))
        },
    );
    record
}

pub(crate) fn add_vehicle(record: &mut Record, vehicle: Vehicle, weighing: Weighing) {
    record.vehicles.insert(vehicle.name.clone(), vehicle);
    record.weighings.insert(weighing.name.clone(), weighing);
}

pub(crate) fn add_cargo(record: &mut Record, item: CargoItem) {
    record.cargo_items.insert(item.name.clone(), item);
}

/// A vehicle that goes with these fills, and what it burns on sand and gravel.
pub(crate) fn going(vehicle: &str, fills: Vec<TankFill>) -> DepartureVehicle {
    DepartureVehicle {
        vehicle: name(&format!("vehicles/{vehicle}")),
        fills,
        drawdown_order: Vec::new(),
        consumption_l_per_100km: BTreeMap::from([(id("gravel"), 12.0), (id("sand"), 20.0)]),
        consumption_provenance: "test drive".to_owned(),
        consumption_basis: Some(ConsumptionBasis {
            provenance: RateProvenance::MeasuredLoaded,
            spread_fraction: Some(0.05),
            odometer_factor: None,
            mass_correction: None,
        }),
        consumption_basis_by_surface: BTreeMap::new(),
        idling_l_per_h: None,
        odometer_factor: None,
        extra_fuel_places: None,
        power_plan: None,
        tyre_pressures: Vec::new(),
    }
}

/// Gives a departure two legs of 100 km and two days each, and what is needed to know the loads under way.
pub(crate) fn add_way(departure: &mut Departure) {
    for (leg, surface) in [("l1", "gravel"), ("l2", "sand")] {
        departure.legs.push(Leg {
            id: id(leg),
            start_place: format!("start of {leg}"),
            end_place: format!("end of {leg}"),
            planned_days: 2.0,
            map_distance_km: 100.0,
            surface_km: BTreeMap::from([(id(surface), 100.0)]),
            idling_h: 0.0,
        });
    }
    departure.policy.route_allowance_factor = Some(1.1);
    departure.policy.water_plan_l_per_person_day = Some(7.0);
    departure.policy.water = Some(WaterPlan {
        minimum_l_per_person_day: Some(6.0),
        reserve_days: Some(3.0),
        reserve_l_per_person_day: Some(4.0),
        buffer_days: Some(1.0),
        ..WaterPlan::default()
    });
    departure.policy.fuel_reserve = Some(ReservePolicy::Fraction { fraction: 0.2 });
}

/// A departure of `v1` with one person and both tanks full.
pub(crate) fn departure() -> Departure {
    Departure {
        name: name("departures/crossing"),
        display_name: "Crossing".to_owned(),
        departure_date: date("2027-05-24"),
        departure_time_of_day: String::new(),
        return_date: date("2027-06-10"),
        legs: Vec::new(),
        vehicles: vec![going("v1", vec![fill("main", 100.0), fill("water", 60.0)])],
        crew: vec![person("p1", "v1", kg(85.0, 1.0), at(1_400.0, 400.0))],
        policy: Policy::default(),
        rule_packs: Vec::new(),
        supply_points: Vec::new(),
        status_date: None,
        job_order: Vec::new(),
        fuel_containers: Vec::new(),
    }
}

/// The vehicle `v1` of a record.
pub(crate) fn v1(record: &Record) -> &Vehicle {
    &record.vehicles[&name("vehicles/v1")]
}

/// The vehicle `v1` of a record, to change.
pub(crate) fn v1_mut(record: &mut Record) -> &mut Vehicle {
    record.vehicles.get_mut(&name("vehicles/v1")).unwrap()
}
