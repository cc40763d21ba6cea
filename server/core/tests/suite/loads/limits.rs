//! What margins mean, and which limit rules on the roof.

use ostler_core::answer::Answer;
use ostler_core::loads::{LoadResult, compute};
use ostler_core::record::{Departure, Record, Roof};

use crate::builder::{add_cargo, at, cargo, departure, kg, record, v1, v1_mut};

fn loads(record: &Record, departure: &Departure) -> LoadResult {
    compute(record, departure, v1(record))
}

fn with_gross_mass(margin_kg: f64) -> (Record, Departure) {
    let mut record = record();
    let departure = departure();
    let load_kg = loads(&record, &departure).total.load_kg;
    v1_mut(&mut record).specification.gross_mass_kg = Some(load_kg + margin_kg);
    (record, departure)
}

#[test]
fn a_margin_is_held_against_its_uncertainty() {
    // The uncertainty of the whole is 7.59 kg, so that 15 kg is in doubt and 16 kg is not.
    for (margin_kg, expected) in [
        (-0.1, Answer::NotMet),
        (15.0, Answer::MetWithConditions),
        (16.0, Answer::Met),
    ] {
        let (record, departure) = with_gross_mass(margin_kg);
        assert_eq!(loads(&record, &departure).total.answer, expected, "{margin_kg}");
    }
}

#[test]
fn the_policy_sets_confidence_and_warning() {
    let (record, mut departure) = with_gross_mass(15.0);
    departure.policy.confidence_deviations = Some(1.0);
    assert_eq!(loads(&record, &departure).total.answer, Answer::Met);
    departure.policy.margin_warn_fraction = Some(0.03);
    assert_eq!(loads(&record, &departure).total.answer, Answer::MetWithConditions);
    departure.policy.margin_warn_fraction = Some(f64::NAN);
    let spoiled = loads(&record, &departure);
    assert_eq!(spoiled.total.answer, Answer::NotKnown);
    assert!(spoiled.missing[0].contains("margin_warn_fraction"));
}

#[test]
fn an_axle_that_would_lift_is_not_met() {
    let mut record = record();
    v1_mut(&mut record).specification.rear_axle_rating_kg = Some(9_000.0);
    let mut item = cargo("crane", "v1", "rear", kg(3_000.0, 0.0));
    item.position = Some(at(6_000.0, 0.0));
    add_cargo(&mut record, item);
    let front = loads(&record, &departure()).front_axle.unwrap();
    assert!(front.load_kg < 0.0);
    assert_eq!(front.answer, Answer::NotMet);
}

#[test]
fn the_tighter_limit_rules_on_the_roof_and_is_named() {
    // The tent on it weighs 30 kg.
    let cases = [
        (
            (Some(150.0), Some(30.0), Some(120.0), Some(0.5)),
            Some(60.0),
            "rack rating off road",
            Answer::Met,
        ),
        (
            (Some(70.0), Some(30.0), Some(120.0), Some(0.5)),
            Some(40.0),
            "roof limit less the rack",
            Answer::Met,
        ),
        (
            (Some(150.0), Some(30.0), Some(40.0), Some(0.5)),
            Some(20.0),
            "rack rating off road",
            Answer::NotMet,
        ),
        (
            (Some(0.0), Some(0.0), Some(0.0), None),
            Some(0.0),
            "rack rating",
            Answer::NotMet,
        ),
        (
            (None, Some(30.0), Some(120.0), None),
            None,
            "the vehicle's roof",
            Answer::NotKnown,
        ),
        (
            (Some(150.0), None, Some(120.0), None),
            None,
            "mass of the rack",
            Answer::NotKnown,
        ),
        (
            (Some(150.0), Some(30.0), None, None),
            None,
            "rating of the rack",
            Answer::NotKnown,
        ),
        // Over the one that is known, whatever the other is.
        (
            (None, None, Some(20.0), None),
            Some(20.0),
            "rack rating",
            Answer::NotMet,
        ),
    ];
    for ((limit_kg, rack_mass_kg, rack_rating_kg, rack_offroad_factor), expected_kg, named, answer) in cases {
        let mut record = record();
        v1_mut(&mut record).specification.roof = Some(Roof {
            limit_kg,
            rack_mass_kg,
            rack_rating_kg,
            rack_offroad_factor,
        });
        let roof = loads(&record, &departure()).roof;
        assert_eq!(roof.limit_kg, expected_kg, "{roof:?}");
        assert!(roof.limit_name.contains(named), "{roof:?}");
        assert_eq!(roof.answer, answer, "{roof:?}");
    }
}

#[test]
fn nothing_on_a_roof_without_a_rack_needs_no_limit() {
    let mut record = record();
    v1_mut(&mut record).specification.roof = None;
    assert_eq!(loads(&record, &departure()).roof.answer, Answer::NotKnown);
    record.cargo_items.retain(|name, _| name.id() != "tent");
    assert_eq!(loads(&record, &departure()).roof.answer, Answer::Met);
}

#[test]
fn a_zone_is_held_against_its_own_limit() {
    let mut record = record();
    let zones = loads(&record, &departure()).zones;
    assert_eq!(zones.len(), 1);
    assert!((zones[0].load.load_kg - 80.0).abs() < 1e-9);
    assert_eq!(zones[0].load.answer, Answer::Met);
    v1_mut(&mut record).specification.zones[1].limit_kg = Some(79.0);
    assert_eq!(loads(&record, &departure()).zones[0].load.answer, Answer::NotMet);
}
