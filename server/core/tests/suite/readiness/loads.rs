//! The gates of masses and axles.

use ostler_core::answer::Answer;
use ostler_core::loads::compute;
use ostler_core::readiness::Verdict;

use super::fixture::{answer, of, ready, worst};
use crate::builder::{name, v1, v1_mut};

/// A vehicle may be under its gross mass and over on one axle.
#[test]
fn an_axle_over_stops_a_vehicle_under_its_gross_mass() {
    let (mut record, departure) = ready();
    let rear_kg = compute(&record, &departure, v1(&record))
        .rear_axle
        .unwrap()
        .load_kg;
    v1_mut(&mut record).specification.rear_axle_rating_kg = Some(rear_kg - 37.8);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "masses"), Answer::Met);
    assert_eq!(answer(&readiness, "axles"), Answer::NotMet);
    assert_eq!(readiness.verdict, Verdict::NoGo);
    let finding = worst(&readiness, "axles");
    let margin = finding
        .figures
        .iter()
        .find(|figure| figure.id == "rear_axle_margin_kg")
        .unwrap();
    assert!((margin.value + 37.8).abs() < 1e-9);
    assert!(margin.uncertainty.unwrap() > 0.0);
    assert!(finding.text.contains("37.8 kg over"), "{}", finding.text);
    assert!(!finding.remedy.is_empty());
    assert_eq!(finding.basis, ostler_core::loads::FORMULA_VERSION);
    assert!(finding.records.contains(&name("vehicles/v1")));
    assert!(finding.records.contains(&name("weighings/v1-first")));
}

/// A margin smaller than its uncertainty is shown as doubtful, not as met.
#[test]
fn a_margin_in_doubt_is_met_with_conditions() {
    let (mut record, departure) = ready();
    let total_kg = compute(&record, &departure, v1(&record)).total.load_kg;
    v1_mut(&mut record).specification.gross_mass_kg = Some(total_kg + 5.0);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "masses"), Answer::MetWithConditions);
    assert_eq!(readiness.verdict, Verdict::GoWithConditions);
    assert!(!worst(&readiness, "masses").remedy.is_empty());
}

#[test]
fn roof_and_zones_count_under_masses() {
    let (mut record, departure) = ready();
    v1_mut(&mut record).specification.zones[1].limit_kg = Some(79.0);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "masses"), Answer::NotMet);
    assert_eq!(answer(&readiness, "axles"), Answer::Met);
    let (mut record, departure) = ready();
    v1_mut(&mut record).specification.roof.as_mut().unwrap().limit_kg = Some(59.0);
    let finding = worst(&of(&record, &departure), "masses");
    assert_eq!(finding.answer, Answer::NotMet);
    assert!(finding.text.contains("roof"), "{}", finding.text);
}

#[test]
fn a_rating_that_is_not_known_is_named() {
    let (mut record, departure) = ready();
    v1_mut(&mut record).specification.front_axle_rating_kg = None;
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "axles"), Answer::NotKnown);
    let finding = worst(&readiness, "axles");
    assert!(
        finding
            .missing
            .iter()
            .any(|missing| missing.contains("front axle"))
    );
}
