//! The gate of restraint.

use ostler_core::answer::Answer;
use ostler_core::record::{ClosingLashing, Record, Restraint, RestraintStandard, TankMounting};
use ostler_core::restraint::{Geometry, LashingGroup, Ratings};
use proptest::prelude::*;

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::{held_by, name, v1_mut};

pub(super) fn hold(record: &mut Record, item: &str, restraint: Option<Restraint>) {
    let item = record.cargo_items.get_mut(&name(&format!("cargoItems/{item}")));
    item.unwrap().restraint = restraint;
}

/// Forward as given, elsewhere by 1,000 N.
pub(super) fn forward(capacity_n: Option<f64>) -> Option<Restraint> {
    Some(Restraint {
        capacity_forward_n: capacity_n,
        ..held_by(1_000.0)
    })
}

/// Two crates of 40 kg at 0.8 times their weight: 80 kg x 9.80665 m/s2 x 0.8 = 627.6 N (own calculation).
#[test]
fn a_shortfall_is_not_met_with_its_numbers() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", forward(Some(600.0)));
    let readiness = of(&record, &departure);
    let finding = worst(&readiness, "restraint");
    assert_eq!(finding.answer, Answer::NotMet);
    for said in [
        "item crate (crate) is held forward by 600 N",
        "0.8 times its weight",
        "28 N short",
    ] {
        assert!(finding.text.contains(said), "{}", finding.text);
    }
    assert!((finding.figures[0].value - 627.6256).abs() < 1e-3);
    assert_eq!(finding.figures[0].limit, Some(600.0));
    assert_eq!(finding.records, [name("cargoItems/crate")]);
    assert!(finding.remedy.contains("628 N or more"), "{}", finding.remedy);
}

/// Short by 28 N forward and by 392 N to either side (0.5 of 784.5 N); a strap of 300 N at 0 degrees closes them
/// with 1 and 2 (own calculation).
#[test]
fn every_direction_that_is_short_is_named_with_the_lashings_that_close_it() {
    let (mut record, mut departure) = ready();
    let restraint = Restraint {
        capacity_forward_n: Some(600.0),
        capacity_sideways_n: Some(0.0),
        ..held_by(1_000.0)
    };
    hold(&mut record, "crate", Some(restraint));
    departure.policy.closing_lashing = Some(ClosingLashing {
        name: "strap".to_owned(),
        ratings: Ratings {
            lashing_capacity_n: Some(300.0),
            ..Ratings::default()
        },
        angle_to_deck_deg: 0.0,
    });
    let finding = worst(&of(&record, &departure), "restraint");
    for said in [
        "to either side by 0 N",
        "392 N short",
        "forward by 600 N",
        "28 N short",
    ] {
        assert!(finding.text.contains(said), "{}", finding.text);
    }
    for said in ["2 more of strap", "1 more of strap"] {
        assert!(finding.remedy.contains(said), "{}", finding.remedy);
    }
}

#[test]
fn a_capacity_closer_than_the_mass_is_known_is_in_doubt() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", forward(Some(628.0)));
    assert_eq!(
        answer(&of(&record, &departure), "restraint"),
        Answer::MetWithConditions
    );
    hold(&mut record, "crate", forward(Some(700.0)));
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
}

#[test]
fn things_without_data_are_counted_and_named_in_one_finding() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", forward(None));
    hold(&mut record, "tent", None);
    let gate = gate(&of(&record, &departure), "restraint");
    assert_eq!(gate.answer, Answer::NotKnown);
    assert_eq!(gate.findings.len(), 1);
    assert_eq!(
        gate.findings[0].missing,
        ["crate: what holds it forward", "tent: how it is held"]
    );
    for said in ["2 of the things carried", "item crate", "item tent"] {
        assert!(gate.findings[0].text.contains(said), "{}", gate.findings[0].text);
    }
}

#[test]
fn the_cargo_of_another_vehicle_does_not_count_and_none_needs_no_policy() {
    let (mut record, mut departure) = ready();
    for item in record.cargo_items.values_mut() {
        item.vehicle = Some(name("vehicles/v9"));
        item.restraint = None;
    }
    departure.policy.restraint_forward_g = None;
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
}

/// 60 l of water and 4 kg of shell at 0.8 times the weight: 64 x 9.80665 x 0.8 = 502.1 N (own calculation),
/// whatever its fill at departure.
#[test]
fn a_container_is_held_brimful() {
    let (mut record, mut departure) = ready();
    departure.vehicles[0].fills[1].volume_l = 0.0;
    let water = &mut v1_mut(&mut record).specification.tanks[1];
    water.mounting = TankMounting::Container;
    water.restraint = Some(held_by(600.0));
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
    v1_mut(&mut record).specification.tanks[1].restraint = Some(held_by(500.0));
    let finding = worst(&of(&record, &departure), "restraint");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("tank water (water)"), "{}", finding.text);
    assert!((finding.figures[0].value - 502.1005).abs() < 1e-3);
    v1_mut(&mut record).specification.tanks[1].empty_mass = None;
    let finding = worst(&of(&record, &departure), "restraint");
    assert_eq!(finding.missing, ["water: its empty mass"]);
}

/// EN 12195-1 does not cover vehicles of 3,500 kg or less (catalogue abstract, read); this one may weigh that.
#[test]
fn a_standard_that_does_not_cover_the_vehicle_is_a_condition_that_says_so() {
    let (mut record, mut departure) = ready();
    departure.policy.restraint_standard = Some(RestraintStandard::En12195Part1Of2010);
    let finding = worst(&of(&record, &departure), "restraint");
    assert_eq!(finding.answer, Answer::MetWithConditions);
    assert!(finding.text.contains("3,500 kg or less"), "{}", finding.text);
    v1_mut(&mut record).specification.gross_mass_kg = Some(3_800.0);
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
    v1_mut(&mut record).specification.gross_mass_kg = None;
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::NotKnown);
}

#[test]
fn a_tie_down_without_friction_is_not_known_and_with_it_met() {
    let (mut record, departure) = ready();
    let mut lashed = Restraint {
        lashings: vec![LashingGroup {
            name: "strap".to_owned(),
            count: 4,
            ratings: Ratings {
                lashing_capacity_n: Some(10_000.0),
                tension_n: Some(2_000.0),
                ..Ratings::default()
            },
            geometry: Geometry::TieDown {
                angle_to_deck_deg: 80.0,
            },
        }],
        ..Restraint::default()
    };
    hold(&mut record, "crate", Some(lashed.clone()));
    let finding = worst(&of(&record, &departure), "restraint");
    assert_eq!(finding.answer, Answer::NotKnown);
    assert_eq!(finding.missing, ["crate: its friction"]);
    lashed.friction = Some(0.4);
    hold(&mut record, "crate", Some(lashed));
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
}

proptest! {
    /// More capacity never makes the answer worse.
    #[test]
    fn more_capacity_is_never_worse(less_n in 0.0..1_500.0_f64, more_n in 0.0..500.0_f64) {
        let (mut record, departure) = ready();
        hold(&mut record, "crate", Some(held_by(less_n)));
        let before = answer(&of(&record, &departure), "restraint");
        hold(&mut record, "crate", Some(held_by(less_n + more_n)));
        prop_assert!(answer(&of(&record, &departure), "restraint") <= before);
    }
}
