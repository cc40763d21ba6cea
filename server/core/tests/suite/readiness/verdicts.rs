//! How gates and vehicles are put together.

use ostler_core::answer::Answer;
use ostler_core::readiness::{Verdict, assess};
use ostler_core::record::{Disposition, Severity};

use super::fixture::{defect, evidence, item, of, outlook, ready};
use crate::builder::{add_vehicle, fill, going, name, vehicle, weighing};

#[test]
fn everything_known_and_within_limits_is_a_go() {
    let (record, departure) = ready();
    let readiness = of(&record, &departure);
    assert_eq!(readiness.verdict, Verdict::Go, "{readiness:#?}");
    let mut gates: Vec<&str> = readiness.vehicles[0].gates.iter().map(|gate| gate.id).collect();
    gates.sort_unstable();
    assert_eq!(
        gates,
        [
            "axles",
            "defects",
            "fuel",
            "jobs",
            "masses",
            "papers",
            "power",
            "proof",
            "restraint",
            "rules",
            "schedule",
            "stability",
            "stance",
            "substitutions",
            "tanks",
            "tyres",
            "underside",
            "wheels"
        ]
    );
}

#[test]
fn the_worst_answer_makes_the_verdict() {
    for (answer, verdict) in [
        (Answer::Met, Verdict::Go),
        (Answer::MetWithConditions, Verdict::GoWithConditions),
        (Answer::NotKnown, Verdict::NoGo),
        (Answer::NotMet, Verdict::NoGo),
    ] {
        assert_eq!(Verdict::of(answer), verdict);
        assert_eq!(answer.lets_go(), verdict != Verdict::NoGo);
    }
    assert!(Answer::Met < Answer::MetWithConditions);
    assert!(Answer::MetWithConditions < Answer::NotKnown);
    assert!(Answer::NotKnown < Answer::NotMet);
}

#[test]
fn vehicles_gates_and_findings_come_worst_first() {
    let (mut record, mut departure) = ready();
    add_vehicle(&mut record, vehicle("v2"), weighing("v2"));
    departure
        .vehicles
        .push(going("v2", vec![fill("main", 10.0), fill("water", 0.0)]));
    let inspection = item("inspection-2", "inspection", Some("v2"), []);
    record.regulated_items.insert(inspection.name.clone(), inspection);
    let paper = evidence("paper-2", "inspection-paper", Some("v2"), None);
    record.evidence.insert(paper.name.clone(), paper);
    let mut found = defect(Severity::Grounding, Disposition::Open);
    found.vehicle = name("vehicles/v2");
    record.defects.insert(found.name.clone(), found.clone());
    found.name = name("defects/a-minor-one");
    found.severity = Severity::Minor;
    record.defects.insert(found.name.clone(), found);
    let readiness = of(&record, &departure);
    assert_eq!(readiness.verdict, Verdict::NoGo);
    assert_eq!(readiness.vehicles[0].vehicle, name("vehicles/v2"));
    assert_eq!(readiness.vehicles[1].verdict, Verdict::Go);
    assert_eq!(readiness.vehicles[0].gates[0].id, "defects");
    for vehicle in &readiness.vehicles {
        assert!(
            vehicle
                .gates
                .is_sorted_by(|left, right| left.answer >= right.answer)
        );
        for gate in &vehicle.gates {
            assert!(
                gate.findings
                    .is_sorted_by(|left, right| left.answer >= right.answer)
            );
            let worst = gate.findings.iter().map(|finding| finding.answer).max();
            assert_eq!(gate.answer, worst.unwrap_or(Answer::Met));
            assert!(!gate.summary.is_empty());
        }
    }
}

#[test]
fn a_vehicle_that_is_not_on_record_is_not_known() {
    let (mut record, departure) = ready();
    record.vehicles.clear();
    let readiness = of(&record, &departure);
    assert_eq!(readiness.verdict, Verdict::NoGo);
    let gate = &readiness.vehicles[0].gates[0];
    assert_eq!(gate.answer, Answer::NotKnown);
    assert!(gate.findings[0].missing[0].contains("vehicles/v1"));
    assert!(!gate.summary.is_empty());
}

#[test]
fn a_departure_without_vehicles_does_not_go() {
    let (record, mut departure) = ready();
    departure.vehicles.clear();
    assert_eq!(of(&record, &departure).verdict, Verdict::NoGo);
}

#[test]
fn one_vehicle_can_be_asked_for_and_another_does_not_go() {
    let (mut record, mut departure) = ready();
    departure.vehicles.push(going("v2", Vec::new()));
    let plan = outlook(&record, &departure);
    let only = |wanted: &str| assess(&record, &departure, Some(&name(wanted)), &plan);
    let first = only("vehicles/v1");
    assert_eq!(first.vehicles.len(), 1);
    assert_eq!(first.vehicles[0].verdict, Verdict::Go);
    // What the convoy can share is not known while one of it is not on record.
    assert_eq!(first.verdict, Verdict::NoGo);
    assert_eq!(only("vehicles/v2").verdict, Verdict::NoGo);
    assert_eq!(only("vehicles/v3").verdict, Verdict::NoGo);
    record.vehicles.clear();
    assert_eq!(of(&record, &departure).verdict, Verdict::NoGo);
}
