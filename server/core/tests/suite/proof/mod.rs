//! Which evidence later work made stale, and only that.

#![expect(
    clippy::unwrap_used,
    reason = "functions shared by tests stop a test that cannot go on"
)]

mod closing;

use std::collections::BTreeMap;

use ostler_core::proof::{
    FactCondition, FactTest, ProofAnswer, ProofAssessment, ProofPolicy, ProofRequirement, Stale, prove,
    stale_evidence, topics_touched,
};
use ostler_core::record::{
    Evidence, EvidenceKind, EvidenceResult, Fact, Record, SubstitutionState, Vehicle, VehicleSystem,
};
use proptest::prelude::*;

use crate::fit::fixture::{Build, id, mass, name, slot};
use crate::rules::date;

const TOPICS: [&str; 6] = [
    "shakedown",
    "alignment",
    "brake_test",
    "leak_test",
    "weighing",
    "insurance",
];

const SYSTEMS: [(&str, VehicleSystem); 8] = [
    ("engine", VehicleSystem::Engine),
    ("gearbox", VehicleSystem::Driveline),
    ("spring", VehicleSystem::Suspension),
    ("wheel", VehicleSystem::Wheels),
    ("brake", VehicleSystem::Brakes),
    ("tank", VehicleSystem::Fuel),
    ("radio", VehicleSystem::Electrical),
    ("rack", VehicleSystem::Body),
];

/// A vehicle with one slot of each system, and one piece of evidence of each topic, all of one day.
fn proven_on(issued: Option<&str>) -> Build {
    let mut build = Build::new();
    let slots = SYSTEMS
        .iter()
        .map(|(slot_id, system)| slot(slot_id, slot_id, *system, vec![]))
        .collect();
    build.vehicle("v", slots);
    for topic in TOPICS {
        let evidence = Evidence {
            name: name("evidence", topic),
            display_name: topic.to_owned(),
            kind: EvidenceKind::Test,
            vehicle: Some(name("vehicles", "v")),
            topic: id(topic),
            regulated_items: Vec::new(),
            result: EvidenceResult::Passed,
            reference: String::new(),
            issued_date: issued.map(date),
            valid_until_date: None,
            facts: BTreeMap::from([
                (id("loaded"), Fact::YesNo(true)),
                (id("distance_km"), Fact::Number(206.0)),
            ]),
            carried: false,
            note: String::new(),
        };
        build.record.evidence.insert(evidence.name.clone(), evidence);
    }
    build
}

/// Fits a part of `mass_kg` in the place of one of 10 kg.
fn work(build: &mut Build, slot_id: &str, on: &str, mass_kg: Option<f64>) {
    build.part(&format!("{slot_id}-old"), slot_id, vec![]).mass = mass(10.0, None);
    build.part(&format!("{slot_id}-new"), slot_id, vec![]).mass = mass_kg.and_then(|kg| mass(kg, None));
    let (old, new) = (format!("{slot_id}-old"), format!("{slot_id}-new"));
    build.substitute(slot_id, "v", &[(slot_id, Some(&old), &new)]);
    let made = build
        .record
        .substitutions
        .get_mut(&name("substitutions", slot_id))
        .unwrap();
    made.state = SubstitutionState::Fitted;
    made.fitted_date = Some(date(on));
}

fn vehicle(record: &Record) -> &Vehicle {
    &record.vehicles[&name("vehicles", "v")]
}

fn stale(build: &Build) -> Vec<Stale> {
    stale_evidence(&build.record, vehicle(&build.record), ProofPolicy::default())
}

fn stale_topics(build: &Build) -> Vec<String> {
    stale(build)
        .into_iter()
        .map(|stale| stale.topic.to_string())
        .collect()
}

#[test]
fn work_makes_exactly_its_topics_stale() {
    let expected: [(&str, &[&str]); 8] = [
        ("engine", &["shakedown"]),
        ("gearbox", &["shakedown"]),
        ("spring", &["alignment", "shakedown"]),
        ("wheel", &["alignment", "shakedown"]),
        ("brake", &["brake_test", "shakedown"]),
        ("tank", &["leak_test"]),
        ("radio", &[]),
        ("rack", &[]),
    ];
    for (slot_id, topics) in expected {
        let mut build = proven_on(Some("2027-04-10"));
        work(&mut build, slot_id, "2027-04-11", Some(10.0));
        assert_eq!(stale_topics(&build), topics, "{slot_id}");
        let mut build = proven_on(Some("2027-04-10"));
        work(&mut build, slot_id, "2027-04-09", Some(10.0));
        assert!(stale(&build).is_empty(), "{slot_id}");
    }
}

#[test]
fn work_of_the_same_day_makes_stale_and_says_so() {
    let mut build = proven_on(Some("2027-04-10"));
    work(&mut build, "gearbox", "2027-04-10", Some(10.0));
    let found = stale(&build);
    assert_eq!(found.len(), 1);
    assert!(found[0].by[0].same_day);
    assert_eq!(
        found[0].reason,
        "shakedown of 2027-04-10 is stale: work on gearbox (gearbox) on 2027-04-10, the same day; which came first is \
         not recorded"
    );
}

#[test]
fn a_weighing_is_stale_above_the_set_mass() {
    let weighed = |masses: &[Option<f64>]| {
        let mut build = proven_on(Some("2027-04-10"));
        for (index, mass_kg) in masses.iter().enumerate() {
            work(
                &mut build,
                ["rack", "radio", "tank"][index],
                "2027-05-01",
                *mass_kg,
            );
        }
        stale_topics(&build).contains(&"weighing".to_owned())
    };
    assert!(!weighed(&[Some(35.0)]));
    assert!(weighed(&[Some(35.1)]));
    // 15 kg off and 15 kg on, in another place: the axles know.
    assert!(weighed(&[Some(0.0), Some(30.0)]));
    assert!(weighed(&[None]));
}

#[test]
fn fitments_without_a_substitution_are_work_too() {
    let mut build = proven_on(Some("2027-04-10"));
    build.part("rack-new", "rack", vec![]).mass = mass(38.0, None);
    build.fit("v", "rack", Some("rack-new"));
    assert!(stale(&build).is_empty(), "without a date it was there before");
    let vehicle = build.record.vehicles.get_mut(&name("vehicles", "v")).unwrap();
    vehicle.fitments.get_mut("rack").unwrap().fitted_date = Some(date("2027-04-20"));
    let found = stale(&build);
    assert_eq!(found.len(), 1);
    assert_eq!(&*found[0].topic, "weighing");
    assert_eq!(found[0].by[0].mass_change_kg, Some(38.0));
}

#[test]
fn evidence_without_a_date_does_not_outlive_work() {
    let mut build = proven_on(None);
    assert!(stale(&build).is_empty());
    work(&mut build, "gearbox", "2027-04-10", Some(10.0));
    assert_eq!(stale_topics(&build), ["shakedown"]);
}

#[test]
fn other_vehicles_and_proposals_touch_nothing() {
    let mut build = proven_on(Some("2027-04-10"));
    work(&mut build, "gearbox", "2027-05-01", Some(10.0));
    build.substitute("gearbox", "v", &[("gearbox", Some("gearbox-old"), "gearbox-new")]);
    assert!(stale(&build).is_empty());
    work(&mut build, "spring", "2027-05-01", Some(10.0));
    let other = build
        .record
        .substitutions
        .get_mut(&name("substitutions", "spring"))
        .unwrap();
    other.vehicle = name("vehicles", "w");
    assert!(stale(&build).is_empty());
}

fn shakedown(build: &Build, least_km: f64, days: Option<u32>) -> ProofAssessment {
    let requirement = ProofRequirement {
        topic: id("shakedown"),
        vehicles: Vec::new(),
        conditions: vec![
            FactCondition {
                fact: id("loaded"),
                test: FactTest::IsYes,
            },
            FactCondition {
                fact: id("distance_km"),
                test: FactTest::AtLeast(least_km),
            },
        ],
        days_before_departure: days,
    };
    let record = &build.record;
    prove(
        record,
        vehicle(record),
        &requirement,
        date("2027-05-24"),
        ProofPolicy::default(),
    )
}

#[test]
fn a_shakedown_must_be_long_loaded_and_early_enough() {
    let mut build = proven_on(Some("2027-05-14"));
    assert_eq!(shakedown(&build, 200.0, Some(10)).answer, ProofAnswer::Proven);
    assert_eq!(shakedown(&build, 200.0, Some(11)).answer, ProofAnswer::NotProven);
    let short = shakedown(&build, 250.0, Some(10));
    assert_eq!(short.answer, ProofAnswer::NotProven);
    assert_eq!(short.reason, "shakedown: `distance_km` is not 250 or more");
    build
        .record
        .evidence
        .get_mut(&name("evidence", "shakedown"))
        .unwrap()
        .facts
        .clear();
    assert_eq!(shakedown(&build, 200.0, Some(10)).answer, ProofAnswer::NotKnown);
    work(&mut build, "spring", "2027-05-15", Some(10.0));
    let stale = shakedown(&build, 200.0, Some(10));
    assert_eq!(stale.answer, ProofAnswer::NotProven);
    assert!(stale.reason.contains("work on spring"), "{}", stale.reason);
    build.record.evidence.clear();
    assert_eq!(shakedown(&build, 200.0, None).answer, ProofAnswer::NotProven);
}

#[test]
fn a_failure_on_or_after_the_day_takes_the_proof_away() {
    let mut build = proven_on(Some("2027-05-01"));
    let mut failed = build.record.evidence[&name("evidence", "shakedown")].clone();
    failed.name = name("evidence", "failed");
    failed.result = EvidenceResult::Failed;
    build.record.evidence.insert(failed.name.clone(), failed.clone());
    assert_eq!(shakedown(&build, 200.0, None).answer, ProofAnswer::NotProven);
    failed.issued_date = Some(date("2027-04-30"));
    build.record.evidence.insert(failed.name.clone(), failed);
    assert_eq!(shakedown(&build, 200.0, None).answer, ProofAnswer::Proven);
}

proptest! {
    /// Evidence is stale exactly when work on a system its topic proves is not older than it, and every
    /// piece of work that is named did it.
    #[test]
    fn exactly_the_right_evidence_is_stale(days in prop::collection::vec(prop::option::of(1..28_u8), 8)) {
        let mut build = proven_on(Some("2027-04-14"));
        for ((slot_id, _), day) in SYSTEMS.iter().zip(&days) {
            if let Some(day) = day {
                work(&mut build, slot_id, &format!("2027-04-{day:02}"), Some(10.0));
            }
        }
        let found = stale(&build);
        for topic in TOPICS {
            let later = SYSTEMS
                .iter()
                .zip(&days)
                .filter(|((_, system), day)| {
                    topics_touched(*system).contains(&topic) && day.is_some_and(|day| day >= 14)
                })
                .count();
            let told = found.iter().find(|stale| &*stale.topic == topic);
            prop_assert_eq!(told.map_or(0, |stale| stale.by.len()), later, "{}", topic);
        }
    }
}

#[test]
fn a_total_adds_up_what_counts_by_itself_and_nothing_else() {
    let mut build = proven_on(Some("2027-05-01"));
    let asked = |build: &Build| {
        let requirement = ProofRequirement {
            topic: id("shakedown"),
            vehicles: Vec::new(),
            conditions: vec![
                FactCondition {
                    fact: id("loaded"),
                    test: FactTest::IsYes,
                },
                FactCondition {
                    fact: id("distance_km"),
                    test: FactTest::TotalAtLeast(400.0),
                },
            ],
            days_before_departure: None,
        };
        let record = &build.record;
        prove(
            record,
            vehicle(record),
            &requirement,
            date("2027-05-24"),
            ProofPolicy::default(),
        )
    };
    assert_eq!(asked(&build).answer, ProofAnswer::NotProven);
    let mut second = build.record.evidence[&name("evidence", "shakedown")].clone();
    second.name = name("evidence", "second");
    build.record.evidence.insert(second.name.clone(), second.clone());
    let both = asked(&build);
    assert_eq!(both.answer, ProofAnswer::Proven);
    assert!(both.reason.contains("412"), "{}", both.reason);
    second.facts.insert(id("loaded"), Fact::YesNo(false));
    build.record.evidence.insert(second.name.clone(), second.clone());
    assert_eq!(asked(&build).answer, ProofAnswer::NotProven, "driven empty");
    second.facts.insert(id("loaded"), Fact::YesNo(true));
    second.facts.remove(&id("distance_km"));
    build.record.evidence.insert(second.name.clone(), second);
    let open = asked(&build);
    assert_eq!(open.answer, ProofAnswer::NotKnown);
    assert_eq!(open.missing, ["`distance_km` of shakedown"]);
}
