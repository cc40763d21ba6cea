//! What people write, and what becomes of it.

use super::*;

const FLEET: &str = "fleets/orrin";

fn descriptor(message: &str) -> MessageDescriptor {
    ostler_proto::DESCRIPTOR_POOL
        .get_message_by_name(&format!("ostler.v1.{message}"))
        .unwrap()
}

fn read(message: &str, text: &str) -> Result<Input, CliError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.yaml");
    fs::write(&path, text).unwrap();
    from_file(&path, &descriptor(message), FLEET)
}

fn json(input: &Input) -> String {
    serde_json::to_string(&input.message).unwrap()
}

fn faults(result: Result<Input, CliError>) -> Vec<(String, String)> {
    match result {
        Err(CliError::Faulty { faults, .. }) => faults
            .into_iter()
            .map(|fault| (fault.field, fault.problem))
            .collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn words_ids_and_plain_facts_are_understood() {
    let input = read(
        "Evidence",
        "display_name: Shakedown\nkind: test\nvehicle: v1\ntopic: shakedown\nresult: passed\n\
         regulated_items: [tank]\nfacts: {loaded: true, distance_km: 260, place: track, dust:}\n",
    );
    let input = match input {
        Ok(input) => input,
        Err(error) => panic!("{}", error.render(crate::output::Style::plain())),
    };
    let value: serde_json::Value = serde_json::from_str(&json(&input)).unwrap();
    assert_eq!(value["vehicle"], "fleets/orrin/vehicles/v1");
    assert_eq!(value["regulatedItems"][0], "fleets/orrin/regulatedItems/tank");
    assert_eq!(value["kind"], "EVIDENCE_KIND_TEST");
    assert_eq!(value["facts"]["loaded"]["yes"], true);
    assert_eq!(value["facts"]["distance_km"]["number"], 260.0);
    assert_eq!(value["facts"]["place"]["text"], "track");
    assert_eq!(value["facts"]["dust"], serde_json::json!({}));
}

#[test]
fn the_json_form_of_the_api_is_read_as_well() {
    let input = read(
        "Defect",
        r#"{"name": "fleets/orrin/defects/d1", "etag": "e1", "createTime": "2027-01-02T03:04:05Z",
            "disposition": "DEFECT_DISPOSITION_OPEN", "vehicle": "fleets/orrin/vehicles/v1",
            "severity": "DEFECT_SEVERITY_MINOR", "measurements": {"play_mm": 1.5}}"#,
    )
    .unwrap();
    let mut paths = input.paths.clone();
    paths.sort();
    // Not among them: what the server sets.
    assert_eq!(paths, ["measurements", "severity", "vehicle"]);
    assert!(json(&input).contains("2027-01-02T03:04:05Z"));
}

#[test]
fn every_fault_is_named_with_its_path() {
    let found = faults(read(
        "Substitution",
        "vehicel: v1\nreason: 5\nreplacements:\n- {slot: gearbox, incoming_part: p2}\n- {slots: x}\n- 7\n\
         settlements: none\n",
    ));
    let fields: Vec<_> = found.iter().map(|(field, _)| field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "vehicel",
            "reason",
            "replacements[1].slots",
            "replacements[2]",
            "settlements"
        ]
    );
    assert!(found[2].1.contains("did you mean slot?"), "{found:?}");
    assert!(found[0].1.contains("did you mean vehicle?"), "{found:?}");
}

#[test]
fn values_of_the_wrong_sort_are_refused() {
    for (message, text, field) in [
        ("Defect", "severity: awful", "severity"),
        ("CargoItem", "quantity: 1.5", "quantity"),
        ("CargoItem", "quantity: 'two'", "quantity"),
        ("CargoItem", "critical: 3", "critical"),
        ("CargoItem", "unit_mass: {mass_kg: heavy}", "unit_mass.mass_kg"),
        ("CargoItem", "unit_mass: 20", "unit_mass"),
        ("Defect", "measurements: {play_mm: [1]}", "measurements.play_mm"),
    ] {
        assert_eq!(faults(read(message, text))[0].0, field, "{text}");
    }
    for text in [
        "unit_mass: {mass_kg: .nan}",
        "unit_mass: {mass_kg: .inf}",
        "a: 1\na: 2",
        "[",
        "- 1",
        "12",
    ] {
        assert_eq!(faults(read("CargoItem", text)).len(), 1, "{text}");
    }
}

fn settings(message: &str, list: &[&str]) -> Result<Input, CliError> {
    let list: Vec<String> = list.iter().map(|text| (*text).to_owned()).collect();
    from_settings(&list, &descriptor(message), FLEET)
}

#[test]
fn settings_name_fields_and_clear_them() {
    let input = settings(
        "Vehicle",
        &[
            "display_name=-5 = five",
            "specification.gross_mass_kg=3500",
            "specification.driverSide=right",
            "role=",
        ],
    )
    .unwrap();
    assert_eq!(
        input.paths,
        [
            "display_name",
            "specification.gross_mass_kg",
            "specification.driver_side",
            "role"
        ]
    );
    assert_eq!(
        json(&input),
        r#"{"displayName":"-5 = five","specification":{"grossMassKg":3500.0,"driverSide":"HAND_RIGHT"}}"#
    );
    let input = settings("CargoItem", &["vehicle=v2", "shared_with=[v1, v3]", "pinned=yes"]).unwrap();
    assert_eq!(
        json(&input),
        r#"{"vehicle":"fleets/orrin/vehicles/v2","sharedWith":["fleets/orrin/vehicles/v1","fleets/orrin/vehicles/v3"],"pinned":true}"#
    );
}

#[test]
fn settings_that_lead_nowhere_are_refused() {
    let found = faults(settings(
        "Vehicle",
        &[
            "display_name",
            "rol=x",
            "specification.slots.id=x",
            "specification.wheelbase=1",
            "",
        ],
    ));
    let fields: Vec<_> = found.iter().map(|(field, _)| field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "display_name",
            "rol",
            "specification.slots.id",
            "specification.wheelbase",
            ""
        ]
    );
    assert!(found[3].1.contains("wheelbase_mm"), "{found:?}");
}

#[test]
fn facts_of_the_command_line() {
    use v1::fact::Value;
    for (text, value) in [
        ("yes", Some(Value::Yes(true))),
        ("No", Some(Value::Yes(false))),
        ("12.5", Some(Value::Number(12.5))),
        ("unknown", None),
        ("nan", Some(Value::Text("nan".to_owned()))),
        ("steel", Some(Value::Text("steel".to_owned()))),
    ] {
        assert_eq!(fact(text).value, value, "{text}");
    }
}
