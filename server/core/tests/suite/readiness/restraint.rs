//! The gate of restraint.

use ostler_core::answer::Answer;
use ostler_core::record::{Record, Restraint};
use proptest::prelude::*;

use super::fixture::{answer, gate, of, ready, worst};
use crate::builder::name;

fn hold(record: &mut Record, item: &str, capacity_forward_n: Option<f64>) {
    let item = record.cargo_items.get_mut(&name(&format!("cargoItems/{item}")));
    item.unwrap().restraint = Some(Restraint {
        method: "net".to_owned(),
        capacity_forward_n,
    });
}

/// Two crates of 40 kg at 0.8 times their weight: 80 kg x 9.80665 m/s2 x 0.8 = 627.6 N (own calculation).
#[test]
fn a_shortfall_is_not_met_with_its_numbers() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", Some(600.0));
    let readiness = of(&record, &departure);
    let finding = worst(&readiness, "restraint");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("28 N short"), "{}", finding.text);
    assert!((finding.figures[0].value - 627.6256).abs() < 1e-3);
    assert_eq!(finding.figures[0].limit, Some(600.0));
    assert_eq!(finding.records, [name("cargoItems/crate")]);
    assert!(!finding.remedy.is_empty());
}

#[test]
fn a_capacity_closer_than_the_mass_is_known_is_in_doubt() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", Some(628.0));
    assert_eq!(
        answer(&of(&record, &departure), "restraint"),
        Answer::MetWithConditions
    );
    hold(&mut record, "crate", Some(700.0));
    assert_eq!(answer(&of(&record, &departure), "restraint"), Answer::Met);
}

#[test]
fn items_without_data_are_counted_and_named_in_one_finding() {
    let (mut record, departure) = ready();
    hold(&mut record, "crate", None);
    record
        .cargo_items
        .get_mut(&name("cargoItems/tent"))
        .unwrap()
        .restraint = None;
    let gate = gate(&of(&record, &departure), "restraint");
    assert_eq!(gate.answer, Answer::NotKnown);
    assert_eq!(gate.findings.len(), 1);
    assert_eq!(gate.findings[0].missing.len(), 2);
    for said in ["2 of the cargo items", "item crate", "item tent"] {
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

proptest! {
    /// More capacity never makes the answer worse.
    #[test]
    fn more_capacity_is_never_worse(less_n in 0.0..1_500.0_f64, more_n in 0.0..500.0_f64) {
        let (mut record, departure) = ready();
        hold(&mut record, "crate", Some(less_n));
        let before = answer(&of(&record, &departure), "restraint");
        hold(&mut record, "crate", Some(less_n + more_n));
        prop_assert!(answer(&of(&record, &departure), "restraint") <= before);
    }
}
