//! What the format means.

use ostler_proto::v1;
use prost::Message;

use super::{file, read_text, resource};
use crate::contract;

fn message<M: Message + Default>(text: &str, path: &str) -> M {
    resource(&read_text(&file(text)), path)
        .message
        .transcode_to()
        .unwrap()
}

#[test]
fn references_are_ids_of_the_fleet() {
    let text = "defects:\n  d1:\n    vehicle: v1\n    description: leak\n    severity: grounding\n    related: [substitutions/s01, regulated_items/k07]\n";
    let defect: v1::Defect = message(text, "defects.d1");
    assert_eq!(defect.vehicle, "fleets/orrin/vehicles/v1");
    assert_eq!(
        defect.related,
        [
            "fleets/orrin/substitutions/s01",
            "fleets/orrin/regulatedItems/k07"
        ]
    );
    assert_eq!(defect.severity(), v1::DefectSeverity::Grounding);
    assert_eq!(
        defect.disposition(),
        v1::DefectDisposition::Open,
        "the state that the API starts with"
    );
    let file = read_text(&file(text));
    let references = contract::references(&resource(&file, "defects.d1").message);
    assert_eq!(references[1].field, "related[0]");
    let violation = resource(&file, "defects.d1").violation("related[1]", "does not exist");
    assert_eq!(violation.field, "defects.d1.related[1]");
    assert_eq!(violation.problem, "line 8, column 34: does not exist");
}

#[test]
fn facts_are_plain_values() {
    use v1::fact::Value;
    let text = "regulated_items:\n  k1: {display_name: tank, topic: fuel-tank, facts: {plumbed: true, lift_mm: 46, mark: \"12\", word: bolted, open: null}}\n";
    let item: v1::RegulatedItem = message(text, "regulated_items.k1");
    let value = |id: &str| item.facts[id].value.clone();
    assert_eq!(value("plumbed"), Some(Value::Yes(true)));
    assert_eq!(value("lift_mm"), Some(Value::Number(46.0)));
    assert_eq!(value("mark"), Some(Value::Text("12".to_owned())));
    assert_eq!(value("word"), Some(Value::Text("bolted".to_owned())));
    assert_eq!(value("open"), None);
}

#[test]
fn states_stand_in_the_file() {
    let text = "substitutions:\n  s1: {vehicle: v1, state: fitted, fitted_date: 2027-03-19, replacements: [{slot: gearbox, incoming_part: b}]}\n  s2: {vehicle: v1, replacements: [{slot: gearbox, incoming_part: b}]}\n";
    let fitted: v1::Substitution = message(text, "substitutions.s1");
    assert_eq!(
        (fitted.state(), fitted.fitted_date.as_str()),
        (v1::SubstitutionState::Fitted, "2027-03-19")
    );
    let proposed: v1::Substitution = message(text, "substitutions.s2");
    assert_eq!(proposed.state(), v1::SubstitutionState::Proposed);
    let text = "defects:\n  d1: {vehicle: v1, description: leak, severity: minor, disposition: fixed, fix: new seal, fixed_date: 2027-03-20}\n";
    let defect: v1::Defect = message(text, "defects.d1");
    assert_eq!(
        (defect.disposition(), defect.fix.as_str()),
        (v1::DefectDisposition::Fixed, "new seal")
    );
}

#[test]
fn null_leaves_open_and_in_a_map_of_references_means_none() {
    let text = "weighings:\n  w1: {vehicle: v1, weighed_date: 2027-02-26, tolerance_kg: ~, ticket:, axles: {front_kg: 1235, rear_kg: 0}, fitted_parts: {tank.auxiliary: null, gearbox: a}}\n";
    let weighing: v1::Weighing = message(text, "weighings.w1");
    assert_eq!(weighing.tolerance_kg, None);
    assert_eq!(weighing.ticket, "");
    assert_eq!(weighing.fitted_parts["tank.auxiliary"], "");
    assert_eq!(weighing.fitted_parts["gearbox"], "fleets/orrin/parts/a");
}

#[test]
fn fitments_stand_below_their_vehicle_and_come_after_it() {
    let text = "vehicles:\n  v1:\n    display_name: lead\n    specification: {}\n    fitments:\n      spring.rear.left: {part: coil}\nparts:\n  coil: {display_name: coil, kind: spring}\n";
    let file = read_text(&file(text));
    let paths: Vec<String> = file
        .resources
        .iter()
        .map(super::super::FileResource::path)
        .collect();
    assert_eq!(
        paths,
        [
            "fleet",
            "parts.coil",
            "vehicles.v1",
            "vehicles.v1.fitments[\"spring.rear.left\"]"
        ]
    );
    assert_eq!(
        &*file.resources[3].name,
        "fleets/orrin/vehicles/v1/fitments/spring.rear.left"
    );
    assert_eq!(file.resources[3].word, "fitment");
}

#[test]
fn text_fields_take_what_stands_there() {
    let part: v1::Part = message(
        "parts:\n  p: {display_name: 1.50, number: 007, variant: yes, kind: seal}\n",
        "parts.p",
    );
    assert_eq!(
        (
            part.display_name.as_str(),
            part.number.as_str(),
            part.variant.as_str()
        ),
        ("1.50", "007", "yes")
    );
}
