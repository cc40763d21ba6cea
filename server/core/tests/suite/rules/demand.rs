//! Demands held against evidence.

use std::collections::BTreeMap;

use ostler_core::record::{Evidence, EvidenceKind, EvidenceResult, Fact, Id, RegulatedItem};
use ostler_core::rules::{CheckedPack, DemandAnswer, ItemAssessment, TravelDates, assess_item, check_pack};

use super::jurisdiction::orrin_basin;
use super::{NO, YES, date, facts, id, name};

const DEPARTURE: &str = "2027-05-24";
const RETURN: &str = "2027-06-10";

fn dates() -> TravelDates {
    TravelDates {
        departure_date: date(DEPARTURE),
        return_date: date(RETURN),
    }
}

fn item(topic: &str, facts: BTreeMap<Id, Fact>) -> RegulatedItem {
    RegulatedItem {
        name: name("fleets/orrin/regulatedItems/item"),
        display_name: "Item".to_owned(),
        vehicle: Some(name("fleets/orrin/vehicles/v3")),
        topic: id(topic),
        facts,
        slots: Vec::new(),
        note: String::new(),
    }
}

fn evidence(evidence_id: &str, topic: &str, issued: Option<&str>) -> Evidence {
    Evidence {
        name: name(&format!("fleets/orrin/evidence/{evidence_id}")),
        display_name: evidence_id.to_owned(),
        kind: EvidenceKind::Document,
        vehicle: Some(name("fleets/orrin/vehicles/v3")),
        topic: id(topic),
        regulated_items: Vec::new(),
        result: EvidenceResult::Passed,
        reference: String::new(),
        issued_date: issued.map(date),
        valid_until_date: None,
        facts: BTreeMap::new(),
        carried: true,
        note: String::new(),
    }
}

fn orrin() -> CheckedPack {
    check_pack(orrin_basin()).unwrap()
}

fn assess(item: &RegulatedItem, evidence: &[Evidence]) -> ItemAssessment {
    assess_item(&orrin(), item, evidence, dates()).unwrap()
}

fn inspection(evidence: &[Evidence]) -> ItemAssessment {
    assess(&item("inspection", facts([("enters_reserve", YES)])), evidence)
}

fn fixed_tank() -> RegulatedItem {
    item(
        "fuel-tank",
        facts([("maker_fitted", NO), ("original_position", NO), ("plumbed", YES)]),
    )
}

#[test]
fn an_inspection_that_expires_before_departure_does_not_count() {
    let mut report = evidence("k10", "roadworthiness_inspection", Some("2027-03-10"));
    report.valid_until_date = Some(date("2027-05-09"));
    let assessed = inspection(&[report]);
    assert_eq!(assessed.answer, DemandAnswer::NotMet);
    assert_eq!(
        assessed.demands[0].reason,
        "k10 expires on 2027-05-09, 15 days before the departure on 2027-05-24"
    );
    assert_eq!(
        assessed.demands[0].evidence.as_deref(),
        Some("fleets/orrin/evidence/k10")
    );
    assert_eq!(assessed.rule_pack_version, "2027.1");
}

#[test]
fn the_last_day_of_validity_counts() {
    let until = |day: &str| {
        let mut report = evidence("a", "roadworthiness_inspection", Some("2027-04-20"));
        report.valid_until_date = Some(date(day));
        inspection(&[report]).answer
    };
    assert_eq!(until(DEPARTURE), DemandAnswer::Met);
    assert_eq!(until("2027-05-23"), DemandAnswer::NotMet);
}

#[test]
fn age_is_counted_on_the_day_of_departure() {
    // 60 days before 2027-05-24 is 2027-03-25.
    let met = inspection(&[evidence("a", "roadworthiness_inspection", Some("2027-03-25"))]);
    assert_eq!(met.answer, DemandAnswer::Met);
    let old = inspection(&[evidence("a", "roadworthiness_inspection", Some("2027-03-24"))]);
    assert_eq!(old.answer, DemandAnswer::NotMet);
    assert!(old.reason.contains("61 days old"), "{}", old.reason);
    let undated = inspection(&[evidence("a", "roadworthiness_inspection", None)]);
    assert_eq!(undated.answer, DemandAnswer::NotKnown);
    let later = inspection(&[evidence("a", "roadworthiness_inspection", Some("2027-05-25"))]);
    assert_eq!(later.answer, DemandAnswer::NotMet);
}

#[test]
fn pending_and_missing_evidence_are_told_apart() {
    let mut booked = evidence("k11", "roadworthiness_inspection", None);
    booked.result = EvidenceResult::Pending;
    let assessed = inspection(&[booked]);
    assert_eq!(assessed.answer, DemandAnswer::NotMet);
    assert!(
        assessed.reason.contains("booked or applied for"),
        "{}",
        assessed.reason
    );
    let nothing = inspection(&[]);
    assert_eq!(nothing.answer, DemandAnswer::NotMet);
    assert!(nothing.reason.contains("missing"), "{}", nothing.reason);
    assert_eq!(nothing.demands[0].evidence, None);
}

#[test]
fn what_must_be_carried_and_is_not_is_a_condition() {
    let mut certificate = evidence("k07", "engineer_certificate", Some("2027-04-28"));
    certificate.carried = false;
    let assessed = assess(&fixed_tank(), &[certificate.clone()]);
    assert_eq!(assessed.answer, DemandAnswer::MetWithConditions);
    assert!(
        assessed.reason.contains("put it in the vehicle"),
        "{}",
        assessed.reason
    );
    certificate.carried = true;
    assert_eq!(assess(&fixed_tank(), &[certificate]).answer, DemandAnswer::Met);
}

#[test]
fn evidence_counts_for_its_item_or_else_for_its_vehicle() {
    let certificate = evidence("k07", "engineer_certificate", Some("2027-04-28"));
    let mut other_vehicle = certificate.clone();
    other_vehicle.vehicle = Some(name("fleets/orrin/vehicles/v1"));
    assert_eq!(
        assess(&fixed_tank(), &[other_vehicle.clone()]).answer,
        DemandAnswer::NotMet
    );
    let mut fleet_wide = certificate.clone();
    fleet_wide.vehicle = None;
    assert_eq!(assess(&fixed_tank(), &[fleet_wide]).answer, DemandAnswer::NotMet);
    let mut other_item = certificate.clone();
    other_item.regulated_items = vec![name("fleets/orrin/regulatedItems/other")];
    assert_eq!(assess(&fixed_tank(), &[other_item]).answer, DemandAnswer::NotMet);
    let mut this_item = other_vehicle;
    this_item.regulated_items = vec![name("fleets/orrin/regulatedItems/item")];
    assert_eq!(assess(&fixed_tank(), &[this_item]).answer, DemandAnswer::Met);
}

#[test]
fn papers_valid_until_the_return_must_last_until_then() {
    let permit = |until: &str| {
        let mut permit = evidence("k15", "basin_permit", Some("2027-04-15"));
        permit.valid_until_date = Some(date(until));
        assess(&item("permit", facts([("enters_reserve", YES)])), &[permit])
    };
    assert_eq!(permit("2027-06-10").answer, DemandAnswer::Met);
    let short = permit("2027-06-09");
    assert_eq!(short.answer, DemandAnswer::NotMet);
    assert!(
        short.reason.contains("1 day before the return on 2027-06-10"),
        "{}",
        short.reason
    );
}

#[test]
fn a_later_failure_takes_an_earlier_pass_away() {
    let passed = evidence("a", "roadworthiness_inspection", Some("2027-04-10"));
    let mut failed = evidence("b", "roadworthiness_inspection", Some("2027-05-01"));
    failed.result = EvidenceResult::Failed;
    assert_eq!(
        inspection(&[passed.clone(), failed.clone()]).answer,
        DemandAnswer::NotMet
    );
    failed.issued_date = Some(date("2027-04-10"));
    assert_eq!(
        inspection(&[passed.clone(), failed.clone()]).answer,
        DemandAnswer::NotKnown
    );
    failed.issued_date = Some(date("2027-04-09"));
    assert_eq!(inspection(&[passed, failed]).answer, DemandAnswer::Met);
}

#[test]
fn the_best_evidence_is_used() {
    let expired = {
        let mut report = evidence("old", "roadworthiness_inspection", Some("2027-03-10"));
        report.valid_until_date = Some(date("2027-05-09"));
        report
    };
    let fresh = evidence("fresh", "roadworthiness_inspection", Some("2027-05-05"));
    let assessed = inspection(&[expired, fresh]);
    assert_eq!(assessed.answer, DemandAnswer::Met);
    assert_eq!(
        assessed.demands[0].evidence.as_deref(),
        Some("fleets/orrin/evidence/fresh")
    );
}

#[test]
fn what_is_not_allowed_no_evidence_allows() {
    let cylinder = item("gas-cylinder", facts([("in_occupant_space", YES)]));
    let assessed = assess(
        &cylinder,
        &[evidence("a", "cylinder_stowage", Some("2027-05-01"))],
    );
    assert_eq!(assessed.answer, DemandAnswer::NotMet);
    assert!(assessed.reason.contains("not allowed"), "{}", assessed.reason);
}

#[test]
fn undetermined_names_the_facts_and_their_questions() {
    let tank = item("fuel-tank", facts([("maker_fitted", NO), ("plumbed", YES)]));
    let assessed = assess(&tank, &[]);
    assert_eq!(assessed.answer, DemandAnswer::NotKnown);
    assert_eq!(assessed.category, None);
    assert_eq!(&*assessed.missing_facts[0].fact, "original_position");
    assert_eq!(
        assessed.reason,
        "undetermined between Replacement tank in the original position, Fixed additional tank; not known: \
         `original_position` (Does it replace a tank in that tank's original position?)"
    );
}

#[test]
fn a_pack_that_is_not_yet_in_force_meets_nothing() {
    let mut pack = orrin_basin();
    pack.effective_date = date("2027-06-01");
    let tank = item("fuel-tank", facts([("maker_fitted", YES)]));
    let assessed = assess_item(&check_pack(pack).unwrap(), &tank, &[], dates()).unwrap();
    assert_eq!(assessed.answer, DemandAnswer::NotKnown);
    assert!(assessed.reason.contains("2027-06-01"), "{}", assessed.reason);
}

#[test]
fn unknown_topics_and_turned_dates_are_refused() {
    let wrong = item("fuel-tanks", BTreeMap::new());
    let refused = assess_item(&orrin(), &wrong, &[], dates()).unwrap_err();
    assert_eq!(refused.violations[0].field, "topic");
    assert!(refused.violations[0].problem.contains("`fuel-tank`"), "{refused}");
    let turned = TravelDates {
        departure_date: date(RETURN),
        return_date: date(DEPARTURE),
    };
    let refused = assess_item(&orrin(), &fixed_tank(), &[], turned).unwrap_err();
    assert_eq!(refused.violations[0].field, "dates.return_date");
}
