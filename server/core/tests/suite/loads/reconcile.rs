//! Weighings held against what is computed for their moment.

use ostler_core::loads::{Baseline, Reconciliation, reconcile};
use ostler_core::record::{DeclaredMass, Readings, Record, Weighing};
use proptest::prelude::*;

use crate::builder::{date, fill, id, name, record, v1_mut, weighing};

/// A second weighing of `v1`: bare, with the new gearbox in.
fn second(front_kg: f64, rear_kg: f64) -> Weighing {
    let mut second = weighing("v1");
    second.name = name("weighings/v1-second");
    second.weighed_date = date("2027-05-01");
    second.readings = Some(Readings::Axles { front_kg, rear_kg });
    second.fills = Vec::new();
    second.people = Vec::new();
    second
        .fitted_parts
        .insert(id("gearbox"), Some(name("parts/new-box")));
    second
}

/// What `v1` weighs bare with the new gearbox, by hand: readings of 1,250 and 1,150 kg, less 42 kg of
/// diesel at 2,000 mm, less 80 kg at 1,400 mm, plus 20 kg at 900 mm, wheelbase 3,000 mm.
const FRONT_KG: f64 = 1_250.0 - 42.0 / 3.0 - 80.0 * 1_600.0 / 3_000.0 + 20.0 * 2_100.0 / 3_000.0;
const REAR_KG: f64 = 1_150.0 - 42.0 * 2.0 / 3.0 - 80.0 * 1_400.0 / 3_000.0 + 20.0 * 900.0 / 3_000.0;

fn reconciled(record: &mut Record, weighing: Weighing) -> Reconciliation {
    record.weighings.insert(weighing.name.clone(), weighing.clone());
    reconcile(record, &weighing, None).unwrap()
}

#[test]
fn what_is_computed_leaves_nothing_unexplained() {
    let result = reconciled(&mut record(), second(FRONT_KG, REAR_KG));
    assert_eq!(result.missing, Vec::<String>::new());
    assert_eq!(result.baseline, Baseline::Weighing(name("weighings/v1-first")));
    for part in [result.total, result.front_axle, result.rear_axle] {
        let part = part.unwrap();
        assert!(part.unexplained_kg.abs() < 1e-9 && !part.significant, "{part:?}");
    }
    assert_eq!(result.centre, None);
}

#[test]
fn what_is_aboard_is_counted_where_the_weighing_says() {
    let mut full = second(FRONT_KG + 84.0 / 3.0, REAR_KG + 84.0 * 2.0 / 3.0);
    full.fills = vec![fill("main", 100.0)];
    let total = reconciled(&mut record(), full).total.unwrap();
    assert!(total.unexplained_kg.abs() < 1e-9, "{total:?}");
    assert!((total.measured_kg - (FRONT_KG + REAR_KG + 84.0)).abs() < 1e-9);
}

/// 90 kg at 2,000 mm of a wheelbase of 3,000 mm put 30 kg on the front and 60 kg on the rear.
#[test]
fn an_unrecorded_mass_is_found_with_its_place() {
    let result = reconciled(&mut record(), second(FRONT_KG + 30.0, REAR_KG + 60.0));
    let total = result.total.unwrap();
    assert!((total.unexplained_kg - 90.0).abs() < 1e-9 && total.significant);
    let centre = result.centre.unwrap();
    assert!((centre.x_mm - 2_000.0).abs() < 1e-6);
    assert!(centre.x_uncertainty_mm > 0.0 && centre.x_uncertainty_mm < 1_000.0);
    assert_eq!(centre.y_mm, None);
}

#[test]
fn a_difference_within_its_tolerance_is_no_finding() {
    let total = reconciled(&mut record(), second(FRONT_KG + 5.0, REAR_KG + 5.0))
        .total
        .unwrap();
    assert!(!total.significant, "{total:?}");
}

#[test]
fn the_baseline_itself_is_held_against_the_declared_mass() {
    let mut record = record();
    v1_mut(&mut record).fitments.clear();
    v1_mut(&mut record).specification.declared_mass = Some(DeclaredMass {
        mass_kg: 2_200.0,
        front_axle_kg: Some(1_200.0),
        fuel: Vec::new(),
        driver_kg: Some(0.0),
        state: String::new(),
        tolerance_kg: Some(10.0),
    });
    let mut first = weighing("v1");
    first.fitted_parts.clear();
    let result = reconciled(&mut record, first);
    assert_eq!(result.baseline, Baseline::Declared);
    // 2,400 kg as read, less 42 kg of diesel and a person of 80 kg, is 2,278 kg.
    assert!((result.total.unwrap().unexplained_kg - 78.0).abs() < 1e-9);
}

#[test]
fn what_is_missing_is_said_and_nothing_is_made_up() {
    let mut record = record();
    record.parts.get_mut(&name("parts/new-box")).unwrap().mass = None;
    assert!(
        !reconciled(&mut record, second(FRONT_KG, REAR_KG))
            .missing
            .is_empty()
    );
    let mut record = crate::builder::record();
    v1_mut(&mut record).baseline_weighing = None;
    let result = reconciled(&mut record, second(FRONT_KG, REAR_KG));
    assert_eq!((result.total, result.centre), (None, None));
    assert!(!result.missing.is_empty());
}

#[test]
fn another_weighing_must_be_another_one_of_the_vehicle() {
    let mut record = record();
    let second = second(FRONT_KG, REAR_KG);
    record.weighings.insert(second.name.clone(), second.clone());
    record
        .weighings
        .insert(name("weighings/v9-first"), weighing("v9"));
    for against in ["weighings/v1-second", "weighings/v9-first", "weighings/none"] {
        let refused = reconcile(&record, &second, Some(&name(against))).unwrap_err();
        assert_eq!(refused.violations[0].field, "against", "{against}");
    }
    let first = record.weighings[&name("weighings/v1-first")].clone();
    let back = reconcile(&record, &first, Some(&second.name)).unwrap();
    assert!(back.total.unwrap().unexplained_kg.abs() < 1e-9, "{back:?}");
}

proptest! {
    /// Whatever is put on, its mass and place come back; and the axles sum to the total.
    #[test]
    fn mass_and_place_come_back(mass_kg in 50.0..800.0_f64, x_mm in -900.0..5_000.0_f64) {
        let rear_kg = mass_kg * x_mm / 3_000.0;
        let result = reconciled(&mut record(), second(FRONT_KG + mass_kg - rear_kg, REAR_KG + rear_kg));
        let total = result.total.unwrap();
        prop_assert!((total.unexplained_kg - mass_kg).abs() < 1e-6);
        prop_assert!((result.centre.unwrap().x_mm - x_mm).abs() < 1e-3);
        let axles_kg = result.front_axle.unwrap().unexplained_kg + result.rear_axle.unwrap().unexplained_kg;
        prop_assert!((axles_kg - mass_kg).abs() < 1e-6);
    }
}
