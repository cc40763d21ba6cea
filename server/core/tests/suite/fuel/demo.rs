//! The demo convoy: an invented crossing of ten legs with four vehicles, and its reference results.
//!
//! All values are an invented demo with its own reference calculation, made apart from this crate; the
//! tolerance of 0.1 l (and 0.1 of the other units) is that of its rounding.

use ostler_core::fuel::consumption::{
    RateProvenance, RouteConsumption, RouteLeg, SurfaceDistance, SurfaceRate, VehicleConsumption,
    route_consumption,
};
use ostler_core::fuel::extra::{ContainerKind, Extra, ExtraInput, ExtraVehicle, least_extra};
use ostler_core::fuel::requirement::{
    FuelPoint, FuelRequirement, LegNeed, RequirementInput, fuel_requirement,
};
use ostler_core::fuel::reserve::ReservePolicy;
use ostler_core::fuel::sharing::{Convoy, ConvoyVehicle, plan_sharing};
use ostler_core::fuel::tank::{nominal_capacity_l, usable_aboard_l, usable_capacity_l};
use ostler_core::fuel::{Feed, FuelKind, Tank};

const SURFACES: [&str; 6] = ["gravel", "corrugated", "sand", "dunes", "rocky", "claypan"];

/// Leg, its end, days, map km per surface.
const LEGS: [(&str, &str, f64, [f64; 6]); 10] = [
    ("L01", "Dray Bore", 1.0, [96.0, 22.0, 0.0, 0.0, 0.0, 0.0]),
    ("L02", "Hollow Well", 1.0, [0.0, 120.0, 22.0, 0.0, 0.0, 0.0]),
    ("L03", "Pale Lake Camp", 1.0, [0.0, 70.0, 78.0, 0.0, 0.0, 20.0]),
    ("L04", "Ninebar Dunes West", 2.0, [0.0, 0.0, 39.0, 92.0, 0.0, 0.0]),
    ("L05", "Teal Soak", 2.0, [0.0, 0.0, 46.0, 110.0, 0.0, 0.0]),
    ("L06", "Corrow Airstrip", 1.0, [0.0, 124.0, 50.0, 0.0, 0.0, 0.0]),
    ("L07", "Ember Range South", 2.0, [0.0, 99.0, 0.0, 0.0, 88.0, 0.0]),
    ("L08", "Lastwater", 1.0, [0.0, 0.0, 70.0, 0.0, 54.0, 40.0]),
    ("L09", "Farrel Dune Gate", 2.0, [0.0, 0.0, 65.0, 84.0, 0.0, 0.0]),
    ("L10", "Varn Crossing", 1.0, [81.0, 140.0, 0.0, 0.0, 0.0, 0.0]),
];

/// What the reference calculation gives for one vehicle.
struct Reference {
    route_l: f64,
    required_l: f64,
    nominal_l: f64,
    usable_l: f64,
    balance_l: f64,
    balance_percent: f64,
    mean_l_per_100km: f64,
    range_km: f64,
}

pub(super) struct DemoVehicle {
    pub(super) id: &'static str,
    rates: [f64; 6],
    pub(super) tanks: Vec<Tank>,
    reference: Reference,
}

fn tank(id: &str, feed: Feed, capacity_l: f64, unusable_l: f64, fill_l: f64) -> Tank {
    // Everything leaves filled as far as it may be; the drum keeps 5 l of expansion space.
    Tank {
        id: id.to_owned(),
        feed,
        capacity_l,
        unusable_l,
        fill_limit_l: fill_l,
        fill_l,
    }
}

#[rustfmt::skip]
pub(super) fn vehicles() -> [DemoVehicle; 4] {
    use Feed::{Decanted, Engine};
    let reference = |route_l, required_l, nominal_l, usable_l, balance_l, balance_percent, mean_l_per_100km, range_km| {
        Reference { route_l, required_l, nominal_l, usable_l, balance_l, balance_percent, mean_l_per_100km, range_km }
    };
    [
        DemoVehicle {
            id: "V1",
            rates: [13.5, 15.0, 18.5, 24.0, 19.0, 14.0],
            tanks: vec![
                tank("T1a", Engine, 93.0, 4.0, 93.0),
                tank("T1b", Engine, 180.0, 6.0, 180.0),
                tank("T1c", Decanted, 100.0, 1.0, 100.0),
            ],
            reference: reference(299.6, 359.5, 373.0, 362.0, 2.5, 0.7, 17.6, 2062.0),
        },
        DemoVehicle {
            id: "V2",
            rates: [11.5, 13.0, 16.0, 20.0, 16.5, 12.0],
            tanks: vec![
                tank("T2a", Engine, 145.0, 5.0, 145.0),
                tank("T2b", Decanted, 115.0, 3.0, 115.0),
                tank("T2c", Decanted, 60.0, 1.0, 60.0),
            ],
            reference: reference(256.7, 308.0, 320.0, 311.0, 3.0, 1.0, 15.0, 2068.0),
        },
        DemoVehicle {
            id: "V3",
            rates: [14.0, 15.5, 19.5, 25.0, 20.0, 14.5],
            tanks: vec![
                tank("T3a", Engine, 180.0, 7.0, 180.0),
                tank("T3b", Engine, 110.0, 4.0, 110.0),
                tank("T3c", Decanted, 100.0, 1.0, 100.0),
            ],
            reference: reference(312.3, 374.8, 390.0, 378.0, 3.2, 0.9, 18.3, 2065.0),
        },
        DemoVehicle {
            id: "V4",
            rates: [22.0, 25.0, 32.0, 41.0, 33.0, 23.5],
            tanks: vec![
                tank("T4a", Engine, 140.0, 6.0, 140.0),
                tank("T4b", Engine, 132.0, 6.0, 132.0),
                tank("T4c", Decanted, 205.0, 6.0, 200.0),
                tank("T4d", Decanted, 120.0, 1.0, 120.0),
            ],
            reference: reference(508.1, 609.7, 597.0, 573.0, -36.7, -6.0, 29.8, 1925.0),
        },
    ]
}

pub(super) fn consumption(vehicle: &DemoVehicle) -> RouteConsumption {
    let rates = SURFACES
        .iter()
        .zip(vehicle.rates)
        .map(|(surface, rate_l_per_100km)| SurfaceRate {
            surface: (*surface).to_owned(),
            rate_l_per_100km,
            provenance: RateProvenance::MeasuredLoaded,
            odometer_factor: 1.0,
            spread_fraction: Some(0.05),
            mass_correction: None,
        });
    let known = VehicleConsumption {
        rates: rates.collect(),
        idling_l_per_h: None,
        odometer_factor_now: 1.0,
    };
    let legs: Vec<RouteLeg> = LEGS
        .iter()
        .map(|(leg, _, _, km)| RouteLeg {
            leg: (*leg).to_owned(),
            surfaces: SURFACES
                .iter()
                .zip(km)
                .map(|(surface, map_km)| SurfaceDistance {
                    surface: (*surface).to_owned(),
                    map_km: *map_km,
                })
                .collect(),
            idling_h: 0.0,
            mass_kg: None,
        })
        .collect();
    route_consumption(&known, &legs, 1.06).unwrap()
}

/// The requirement with the drums at the airstrip confirmed or not.
pub(super) fn requirement(vehicle: &DemoVehicle, drums_confirmed: bool) -> FuelRequirement {
    let legs = consumption(vehicle)
        .legs
        .into_iter()
        .zip(&LEGS)
        .map(|(leg, (_, end, days, _))| LegNeed {
            leg: leg.leg,
            litres: leg.litres,
            driven_km: leg.driven_km,
            days: *days,
            point_at_end: (*end == "Corrow Airstrip").then(|| FuelPoint {
                place: (*end).to_owned(),
                confirmed: drums_confirmed,
                kinds: vec![FuelKind::Diesel],
                available_l: Some(205.0),
            }),
        });
    fuel_requirement(&RequirementInput {
        start: "Kestrel Junction".to_owned(),
        end: "Varn Crossing".to_owned(),
        kind: FuelKind::Diesel,
        usable_at_start_l: usable_aboard_l(&vehicle.tanks).unwrap(),
        usable_capacity_l: usable_capacity_l(&vehicle.tanks).unwrap(),
        policy: ReservePolicy::Fraction { fraction: 0.2 },
        legs: legs.collect(),
    })
    .unwrap()
}

pub(super) fn convoy() -> Convoy {
    let stops = std::iter::once("Kestrel Junction").chain(LEGS.iter().take(9).map(|(_, end, _, _)| *end));
    Convoy {
        stops: stops.map(str::to_owned).collect(),
        vehicles: vehicles()
            .iter()
            .map(|vehicle| {
                let interval = &requirement(vehicle, false).intervals[0];
                ConvoyVehicle {
                    vehicle: vehicle.id.to_owned(),
                    kind: FuelKind::Diesel,
                    usable_at_start_l: interval.usable_at_start_l,
                    usable_capacity_l: usable_capacity_l(&vehicle.tanks).unwrap(),
                    leg_needs_l: consumption(vehicle).legs.iter().map(|leg| leg.litres).collect(),
                    reserve_l: interval.reserve_l,
                }
            })
            .collect(),
    }
}

fn assert_near(what: &str, computed: f64, reference: f64, tolerance: f64) {
    assert!(
        (computed - reference).abs() <= tolerance,
        "{what}: {computed}, reference {reference}"
    );
}

#[test]
fn every_vehicle_matches_the_reference() {
    for vehicle in vehicles() {
        let (id, reference) = (vehicle.id, &vehicle.reference);
        let answer = requirement(&vehicle, false);
        assert_eq!(
            answer.intervals.len(),
            1,
            "{id}: unconfirmed drums must not part the route"
        );
        let interval = &answer.intervals[0];
        assert_near(id, interval.litres, reference.route_l, 0.1);
        assert_near(id, interval.required_l, reference.required_l, 0.1);
        assert_near(
            id,
            nominal_capacity_l(&vehicle.tanks).unwrap(),
            reference.nominal_l,
            1e-9,
        );
        assert_near(id, interval.usable_at_start_l, reference.usable_l, 1e-9);
        assert_near(id, interval.balance_l, reference.balance_l, 0.1);
        assert_near(
            id,
            100.0 * interval.balance_fraction.unwrap(),
            reference.balance_percent,
            0.1,
        );
        assert_near(
            id,
            interval.mean_l_per_100km.unwrap(),
            reference.mean_l_per_100km,
            0.1,
        );
        assert_near(
            id,
            interval.range_without_reserve_km.unwrap(),
            reference.range_km,
            0.5,
        );
        assert_eq!(answer.covered(), id != "V4");
    }
}

#[test]
fn nominal_capacity_hides_most_of_the_trucks_shortfall() {
    let truck = &vehicles()[3];
    let interval = &requirement(truck, false).intervals[0];
    let nominal = nominal_capacity_l(&truck.tanks).unwrap();
    assert_near(
        "nominal",
        100.0 * (nominal - interval.required_l) / interval.required_l,
        -2.1,
        0.05,
    );
    assert_near(
        "without reserve",
        interval.usable_at_start_l - interval.litres,
        65.0,
        0.1,
    );
}

#[test]
fn without_its_uncertified_tank_the_sweep_vehicle_is_short_by_27_percent() {
    let mut sweep = vehicles().into_iter().nth(2).unwrap();
    sweep.tanks.retain(|tank| tank.id != "T3b");
    let interval = &requirement(&sweep, false).intervals[0];
    assert_near("usable", interval.usable_at_start_l, 272.0, 1e-9);
    assert_near("percent", 100.0 * interval.balance_fraction.unwrap(), -27.0, 0.5);
}

#[test]
fn confirmed_drums_part_the_route_and_close_the_shortfall() {
    let truck = &vehicles()[3];
    let unconfirmed = requirement(truck, false);
    assert_eq!(
        unconfirmed.points_not_counted,
        ["Corrow Airstrip is not confirmed"]
    );
    let confirmed = requirement(truck, true);
    assert_eq!(confirmed.intervals.len(), 2);
    assert!(confirmed.covered() && confirmed.points_not_counted.is_empty());
}

#[test]
fn the_surplus_of_the_others_cannot_cover_the_truck() {
    let answer = plan_sharing(&convoy()).unwrap();
    let [diesel] = answer.as_slice() else {
        panic!("one fuel kind")
    };
    assert_near("usable", diesel.usable_l, 1624.0, 1e-9);
    assert_near("required", diesel.required_l, 1652.0, 0.1);
    assert_near("surplus", diesel.surplus_l, 8.7, 0.1);
    assert_near("shortfall", diesel.shortfall_l, 36.7, 0.1);
    assert!(!diesel.covers());
    assert_near("uncovered", diesel.uncovered_l, 36.7 - 8.7, 0.1);
    assert_near("moved", diesel.moved_l, 8.7, 0.1);
    assert!(diesel.moves.iter().all(|one| one.to == "V4"));
    // Everybody leaves full, so nothing can be moved before a leg has made room.
    assert!(diesel.moves.iter().all(|one| one.stop_name == "Dray Bore"));
}

/// The cans of the demo: 20 l, 4 kg empty, a sixth of a litre stays; diesel 0.84 kg/l.
fn extra_cans(pooled: bool, vehicles: Vec<ExtraVehicle>) -> Extra {
    let can = ContainerKind {
        name: "20 l can".to_owned(),
        fill_l: 20.0,
        unusable_l: 1.0 / 6.0,
        empty_mass_kg: 4.0,
    };
    least_extra(&ExtraInput {
        containers: vec![can],
        vehicles,
        density_kg_per_l: 0.84,
        pooled,
    })
    .unwrap()
}

#[test]
fn two_more_cans_on_the_truck_close_its_shortfall() {
    // The least of each vehicle's mass and rear axle margins; V2 is over on its rear axle.
    let margins = [("V1", 17.1), ("V2", 0.0), ("V3", 97.8), ("V4", 88.5)];
    let shortfall_l = -requirement(&vehicles()[3], false).intervals[0].balance_l;
    let asked = |pooled| {
        let of = |(id, mass_margin_kg): (&str, f64)| ExtraVehicle {
            vehicle: id.to_owned(),
            shortfall_l: if id == "V4" { shortfall_l } else { 0.0 },
            mass_margin_kg,
            places: 6,
        };
        extra_cans(pooled, margins.into_iter().map(of).collect())
    };
    for pooled in [false, true] {
        let Extra::Covered(plan) = asked(pooled) else {
            panic!("covered")
        };
        assert_eq!(plan.carried.len(), 1);
        let carried = &plan.carried[0];
        assert_eq!(
            (carried.vehicle.as_str(), carried.counts.as_slice()),
            ("V4", [2].as_slice())
        );
        assert_near("mass", carried.mass_kg, 41.6, 1e-9);
        assert_near("margin left", carried.margin_left_kg, 46.9, 1e-9);
        // In the locker 2500 mm aft of the front axle of a 3400 mm wheelbase; margins of the demo's loads:
        // 43.3 kg on the front axle, 895.2 kg on the rear (invented demo; moments are own calculation).
        let rear_kg = carried.mass_kg * 2_500.0 / 3_400.0;
        assert!(rear_kg < 895.2 && carried.mass_kg - rear_kg < 43.3);
        assert_near("to move", plan.to_move_l, 0.0, 1e-12);
        assert!(plan.usable_l >= shortfall_l);
    }
    // With the cans aboard the requirement is met.
    let mut truck = vehicles().into_iter().nth(3).unwrap();
    truck
        .tanks
        .push(tank("T4e", Feed::Decanted, 40.0, 2.0 / 6.0, 40.0));
    let balance_l = requirement(&truck, false).intervals[0].balance_l;
    assert_near("balance with two cans", balance_l, 39.667 - 36.7, 0.1);
    assert!(balance_l > 0.0);
}
