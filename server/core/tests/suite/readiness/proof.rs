//! The gate of proof.

use ostler_core::answer::Answer;
use ostler_core::record::{FactTest, SubstitutionState, VehicleSystem};

use super::fixture::{answer, gate, of, propose, ready, worst};
use crate::builder::{date, id, name, v1_mut};

#[test]
fn fresh_evidence_meets_it() {
    let (record, departure) = ready();
    assert_eq!(answer(&of(&record, &departure), "proof"), Answer::Met);
}

#[test]
fn evidence_that_expires_on_the_way_is_a_condition() {
    let (mut record, departure) = ready();
    let drive = record.evidence.get_mut(&name("evidence/drive")).unwrap();
    drive.valid_until_date = Some(departure.departure_date);
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "proof"), Answer::MetWithConditions);
    assert!(worst(&readiness, "proof").text.contains("before the return"));
}

#[test]
fn a_fact_that_is_not_stated_is_not_known() {
    let (mut record, departure) = ready();
    let drive = record.evidence.get_mut(&name("evidence/drive")).unwrap();
    drive.facts.remove(&id("loaded"));
    let readiness = of(&record, &departure);
    assert_eq!(answer(&readiness, "proof"), Answer::NotKnown);
    assert_eq!(worst(&readiness, "proof").missing, ["`loaded` of drive"]);
}

#[test]
fn too_short_too_late_or_missing_is_not_met() {
    for spoil in 0..3 {
        let (mut record, mut departure) = ready();
        match spoil {
            0 => {
                departure.policy.proof_requirements[0].conditions[1].test = FactTest::TotalAtLeast(301.0);
            }
            1 => departure.policy.proof_requirements[0].days_before_departure = Some(3_000),
            _ => {
                record.evidence.remove(&name("evidence/drive"));
            }
        }
        let readiness = of(&record, &departure);
        assert_eq!(answer(&readiness, "proof"), Answer::NotMet, "{spoil}");
        assert!(!worst(&readiness, "proof").remedy.is_empty());
    }
}

#[test]
fn work_after_the_proof_is_named_and_work_elsewhere_is_not() {
    for (system, expected) in [
        (VehicleSystem::Driveline, Answer::NotMet),
        (VehicleSystem::Electrical, Answer::Met),
    ] {
        let (mut record, departure) = ready();
        let work = propose(&mut record, Some(24), SubstitutionState::Fitted);
        let slots = &mut v1_mut(&mut record).specification.slots;
        slots.iter_mut().find(|slot| &*slot.id == "pump").unwrap().system = system;
        record.substitutions.get_mut(&work).unwrap().fitted_date = Some(date("2027-04-25"));
        let readiness = of(&record, &departure);
        assert_eq!(
            answer(&readiness, "proof"),
            expected,
            "{:?}",
            gate(&readiness, "proof")
        );
        let finding = worst(&readiness, "proof");
        assert_eq!(finding.records.contains(&work), expected == Answer::NotMet);
        assert_eq!(finding.text.contains("work on pump"), expected == Answer::NotMet);
    }
}

#[test]
fn a_weighing_counts_as_evidence_until_the_vehicle_changes() {
    let (mut record, mut departure) = ready();
    departure.policy.proof_requirements[0].topic = id("weighing");
    departure.policy.proof_requirements[0].conditions.clear();
    assert_eq!(
        answer(&of(&record, &departure), "proof"),
        Answer::NotMet,
        "older than the gearbox"
    );
    for weighing in record.weighings.values_mut() {
        weighing.weighed_date = date("2027-04-20");
    }
    assert_eq!(answer(&of(&record, &departure), "proof"), Answer::Met);
    let work = propose(&mut record, Some(24), SubstitutionState::Fitted);
    record.substitutions.get_mut(&work).unwrap().fitted_date = Some(departure.departure_date);
    // The mass of the new part is not known, so the weighing does not hold.
    assert_eq!(answer(&of(&record, &departure), "proof"), Answer::NotMet);
    record.weighings.clear();
    assert_eq!(answer(&of(&record, &departure), "proof"), Answer::NotMet);
}

#[test]
fn a_requirement_for_other_vehicles_asks_nothing() {
    let (mut record, mut departure) = ready();
    record.evidence.remove(&name("evidence/drive"));
    departure.policy.proof_requirements[0].vehicles = vec![name("vehicles/other")];
    assert_eq!(answer(&of(&record, &departure), "proof"), Answer::Met);
}
