//! The question as the record puts it, and promises held against the loads.

#![cfg(test)]

use std::collections::BTreeMap;

use ostler_core::answer::Answer;
use ostler_core::loads::{LimitedLoad, states, worst_of};
use ostler_core::record::{CargoItem, Departure, Record};
use ostler_core::stowage::{
    Limit, LimitMargin, Stowage, Subject, Terms, Unwatched, Whereto, from_record, solve,
};
use proptest::prelude::*;

use super::options;
use crate::builder::{
    add_cargo, add_vehicle, add_way, at, cargo, departure, fill, going, id, kg, name, record, vehicle,
    weighing, zone,
};

/// Two vehicles on a way of two legs, each with a roof, a rear zone, a front zone and a cabin.
fn two() -> (Record, Departure) {
    let mut record = record();
    let mut departure = departure();
    add_way(&mut departure);
    add_vehicle(&mut record, vehicle("v2"), weighing("v2"));
    departure
        .vehicles
        .push(going("v2", vec![fill("main", 60.0), fill("water", 20.0)]));
    for vehicle in record.vehicles.values_mut() {
        vehicle
            .specification
            .zones
            .push(zone("front", 700.0, None, false));
        let mut cabin = zone("cabin", 1_800.0, Some(40.0), false);
        cabin.occupant_space = true;
        vehicle.specification.zones.push(cabin);
    }
    (record, departure)
}

fn applied(record: &Record, stowage: &Stowage) -> Record {
    let mut after = record.clone();
    for one in &stowage.moves {
        let item = one.applied_to(&record.cargo_items[&one.cargo_item]);
        after.cargo_items.insert(item.name.clone(), item);
    }
    after
}

/// Every promised margin against the loads of the record.
fn assert_promised(record: &Record, departure: &Departure, margins: &[LimitMargin]) {
    assert!(!margins.is_empty());
    for margin in margins {
        let vehicle = &record.vehicles[&margin.vehicle];
        let states = states(record, departure, vehicle);
        let load = match &margin.limit {
            Limit::Load(load) => load,
            Limit::FrontAxleDown => &LimitedLoad::FrontAxle,
            Limit::RearAxleDown => &LimitedLoad::RearAxle,
            Limit::LateralMoment => {
                let largest = states.iter().map(|state| state.lateral_moment_kgm.abs());
                assert!((largest.fold(0.0, f64::max) - margin.load.abs()).abs() < 1e-6);
                continue;
            }
        };
        if matches!(margin.limit, Limit::Load(_)) {
            let (_, worst) = worst_of(&states, load).unwrap();
            assert!(
                (worst.load_kg - margin.load).abs() < 1e-6,
                "{margin:?} against {worst:?}"
            );
            assert_eq!(worst.limit_kg, Some(margin.limit_value), "{margin:?}");
        } else {
            let least = states.iter().filter_map(|state| Some(load.of(state)?.load_kg));
            assert!(
                (least.fold(f64::INFINITY, f64::min) - margin.load).abs() < 1e-6,
                "{margin:?}"
            );
        }
    }
}

#[test]
fn what_stays_is_base_load_and_said() {
    let (mut record, departure) = two();
    let pinned = CargoItem {
        pinned: true,
        ..cargo("bolted", "v1", "rear", kg(20.0, 1.0))
    };
    let unknown = CargoItem {
        unit_mass: None,
        ..cargo("sack", "v1", "rear", kg(1.0, 1.0))
    };
    let lost = CargoItem {
        zone: None,
        ..cargo("lost", "v1", "rear", kg(5.0, 1.0))
    };
    let stays_home = CargoItem {
        vehicle: None,
        zone: None,
        ..cargo("home", "v1", "rear", kg(5.0, 1.0))
    };
    let to_stow = CargoItem {
        vehicle: None,
        zone: None,
        ..cargo("pump", "v1", "rear", kg(12.0, 1.0))
    };
    for item in [pinned, unknown, lost, stays_home, to_stow] {
        add_cargo(&mut record, item);
    }
    let terms = Terms {
        unstowed: vec![name("cargoItems/pump")],
        ..Terms::default()
    };
    let asked = from_record(&record, &departure, &terms).unwrap();
    let placed: Vec<&str> = asked.convoy.items.iter().map(|item| item.name.id()).collect();
    assert_eq!(placed, ["crate", "pump", "tent"]);
    let staying: Vec<(&str, &str)> = asked
        .staying
        .iter()
        .map(|item| (item.cargo_item.id(), item.reason.as_str()))
        .collect();
    assert_eq!(staying[0], ("bolted", "is pinned"));
    assert!(staying[1].0 == "lost" && staying[1].1.starts_with("is in a zone that is not known"));
    assert_eq!(staying[2], ("sack", "has no known mass"));
    assert!(
        asked
            .missing
            .iter()
            .any(|sentence| sentence.contains("item sack")),
        "{:?}",
        asked.missing
    );
    // The pinned 20 kg are in the zone's base load.
    assert!((asked.convoy.vehicles[0].states[0].zones_kg[1] - 20.0).abs() < 1e-9);
}

#[test]
fn a_vehicle_with_an_unknown_limit_is_left_out() {
    let (mut record, departure) = two();
    let v2 = name("vehicles/v2");
    record
        .vehicles
        .get_mut(&v2)
        .unwrap()
        .specification
        .rear_axle_rating_kg = None;
    add_cargo(&mut record, cargo("barrel", "v2", "rear", kg(30.0, 1.0)));
    let asked = from_record(&record, &departure, &Terms::default()).unwrap();
    assert_eq!(asked.left_out[0].vehicle, v2);
    assert_eq!(asked.left_out[0].reasons, ["the rear axle rating is not known"]);
    assert_eq!(asked.convoy.vehicles.len(), 1);
    assert!(asked.convoy.items.iter().all(|item| item.name.id() != "barrel"));
    assert!(asked.staying.iter().any(|item| item.cargo_item.id() == "barrel"));
}

/// Dangerous things stay out of where people sit, heavy ones off the roof; a group follows what stays.
#[test]
fn bans_and_groups_reach_the_question() {
    let (mut record, departure) = two();
    add_cargo(
        &mut record,
        CargoItem {
            hazard: "flammable gas".to_owned(),
            ..cargo("gas", "v1", "cabin", kg(9.0, 0.1))
        },
    );
    add_cargo(
        &mut record,
        CargoItem {
            pinned: true,
            ..cargo("stove", "v2", "rear", kg(8.0, 0.1))
        },
    );
    let mut terms = Terms::common_practice();
    terms.together = vec![vec![name("cargoItems/gas"), name("cargoItems/stove")]];
    terms.bans.push((
        Subject::CargoItem(name("cargoItems/gas")),
        Whereto::Zone(name("vehicles/v2"), id("rear")),
    ));
    let asked = from_record(&record, &departure, &terms).unwrap();
    let found = solve(&asked.convoy, &options(5_000), &Unwatched).unwrap();
    assert_eq!(found.answer, Answer::Met);
    let moved = found
        .moves
        .iter()
        .find(|one| one.cargo_item.id() == "gas")
        .unwrap();
    assert_eq!(moved.to_vehicle, name("vehicles/v2"));
    assert!(["roof", "front"].contains(&&*moved.to_zone), "{moved:?}");
    // The crate of 80 kg stays off the roofs, the tent of 30 kg must leave its own.
    let tent = found
        .moves
        .iter()
        .find(|one| one.cargo_item.id() == "tent")
        .unwrap();
    assert_ne!(&*tent.to_zone, "roof");
    assert!(
        found
            .moves
            .iter()
            .all(|one| one.cargo_item.id() != "crate" || &*one.to_zone != "roof")
    );
}

#[test]
fn terms_about_what_is_not_there_are_refused() {
    let (record, departure) = two();
    let terms = Terms {
        bans: vec![
            (
                Subject::HeavierThan(f64::NAN),
                Whereto::Vehicle(name("vehicles/v9")),
            ),
            (
                Subject::AnyHazard,
                Whereto::Zone(name("vehicles/v1"), id("attic")),
            ),
        ],
        together: vec![vec![name("cargoItems/none")]],
        pinned: vec![name("cargoItems/none")],
        unstowed: Vec::new(),
        lateral_limits_kgm: BTreeMap::from([(name("vehicles/v9"), -1.0)]),
    };
    let refused = from_record(&record, &departure, &terms).unwrap_err();
    let fields: Vec<&str> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "bans[0]",
            "bans[0]",
            "bans[1]",
            "together[0][0]",
            "pinned[0]",
            "lateral_limits_kgm[fleets/demo/vehicles/v9]",
            "lateral_limits_kgm[fleets/demo/vehicles/v9]",
        ]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// The moves, made in the record, give exactly the promised loads and margins, in every load state.
    #[test]
    fn moves_give_what_is_promised(
        things in prop::collection::vec(
            (1.0..40.0_f64, 0..2_usize, 0..4_usize, any::<bool>(), any::<bool>(), -200.0..200.0_f64),
            1..12,
        ),
    ) {
        let (mut record, departure) = two();
        for (index, (mass_kg, vehicle, zone, consumed, own, off_mm)) in things.into_iter().enumerate() {
            let vehicle = ["v1", "v2"][vehicle];
            let zone = ["roof", "rear", "front", "cabin"][zone];
            let x_mm = [1_500.0, 3_300.0, 700.0, 1_800.0][["roof", "rear", "front", "cabin"].iter().position(|of| *of == zone).unwrap()];
            let item = CargoItem {
                consumed,
                position: own.then(|| at(x_mm + off_mm, off_mm)),
                ..cargo(&format!("c{index}"), vehicle, zone, kg(mass_kg, 0.1))
            };
            add_cargo(&mut record, item);
        }
        let terms = Terms {
            lateral_limits_kgm: BTreeMap::from([(name("vehicles/v1"), 150.0)]),
            ..Terms::common_practice()
        };
        let asked = from_record(&record, &departure, &terms).unwrap();
        prop_assert!(asked.left_out.is_empty() && asked.staying.is_empty() && asked.missing.is_empty(), "{asked:?}");
        let found = solve(&asked.convoy, &options(4_000), &Unwatched).unwrap();
        if found.answer == Answer::Met {
            let after = applied(&record, &found);
            assert_promised(&after, &departure, &found.margins);
            // Asked again, nothing is left to move.
            let again = from_record(&after, &departure, &terms).unwrap();
            let again = solve(&again.convoy, &options(4_000), &Unwatched).unwrap();
            prop_assert!(again.smallest_margin_now.unwrap() >= found.smallest_margin.unwrap() - 1e-9);
            let better = again.smallest_margin.unwrap() > found.smallest_margin.unwrap() + 1e-9;
            prop_assert!(again.moves.is_empty() || better || found.gap.unwrap() > 1e-6);
        }
    }
}
