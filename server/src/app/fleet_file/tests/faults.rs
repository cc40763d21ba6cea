//! Every fault of a file is found at once, with its path and place.

use proptest::prelude::*;

use super::super::read;
use super::file;

fn faults(text: &str) -> Vec<String> {
    let violations = read(text.as_bytes()).unwrap_err().violations;
    violations
        .into_iter()
        .map(|violation| format!("{} @ {}", violation.field, violation.problem))
        .collect()
}

/// Asserts that the faults begin as `expected`, in order.
fn expect(text: &str, expected: &[&str]) {
    let found = faults(text);
    for (fault, start) in found.iter().zip(expected) {
        assert!(fault.starts_with(start), "not {start}\n{found:#?}");
    }
    assert_eq!(found.len(), expected.len(), "{found:#?}");
}

#[test]
fn all_faults_are_found_at_once_with_their_lines() {
    let text = file(
        "vehicles:\n  v2:\n    display_name: utility\n    colour: red\n    specification:\n      wheelbase_mm: \"3220\"\n      \
         wheelbase_mm: 3220\n      tanks:\n        - {id: t2a, fluid: kerosene, mounting: fixed, capcity_l: 145, position: {x_mm: 2350, y_mm: left}}\n        \
         - {id: T2B, fluid: diesel, mounting: fixed, capacity_l: -3, position: {x_mm: 2950}}\n  V3: {}\n\
         cargo_items:\n  c1: {display_name: jack, vehicle: Vehicle, quantity: 1.5, shared_with: v1}\n  c1: {}\n\
         rule_packs: []\nmachines: {}\n",
    );
    expect(
        &text,
        &[
            "vehicles.v2.colour @ line 6, column 5: is not known here",
            "vehicles.v2.specification.wheelbase_mm @ line 8, column 21: must be a number, is \"3220\" in quotes",
            "vehicles.v2.specification.wheelbase_mm @ line 9, column 7: stands a second time; the first is at line 8, column 7",
            "vehicles.v2.specification.tanks[0].capacity_l @ line 11, column 11: must be set",
            "vehicles.v2.specification.tanks[0].fluid @ line 11, column 28: must be one of diesel, petrol, water, is \"kerosene\"",
            "vehicles.v2.specification.tanks[0].capcity_l @ line 11, column 55: is not known here; did you mean `capacity_l`?",
            "vehicles.v2.specification.tanks[0].position.y_mm @ line 11, column 100: must be a number, is \"left\"",
            "vehicles.v2.specification.tanks[1].id @ line 12, column 16: must be 1 to 63 lower-case",
            "vehicles.v2.specification.tanks[1].capacity_l @ line 12, column 65: must be",
            "vehicles.v2.specification.tanks[1].position.y_mm @ line 12, column 79: must be set; a number that is left out",
            "vehicles.V3 @ line 13, column 3: must have an id",
            "cargo_items.c1.vehicle @ line 15, column 37: must be the id of a vehicle, is \"Vehicle\"",
            "cargo_items.c1.quantity @ line 15, column 56: must be a whole number, is \"1.5\"",
            "cargo_items.c1.shared_with @ line 15, column 74: must be a list, is \"v1\"",
            "cargo_items.c1 @ line 16, column 3: stands a second time",
            "rule_packs @ line 17, column 13: must be a mapping from ids, is a list",
            "machines @ line 18, column 1: is no section of a fleet file",
        ],
    );
}

#[test]
fn values_are_not_guessed_at() {
    expect(
        &file(
            "regulated_items:\n  k1: {display_name: a, topic: t, facts: {plumbed: yes, code: 0x1f, at: 12:30, mark: .inf}}\n\
             departures:\n  d1: {display_name: a, departure_date: 24.05.2027, return_date: 2027-13-01, vehicles: [{vehicle: v1}], \
             crew: [{id: p1, driver: yes}]}\n\
             defects:\n  d1: {vehicle: v1, description: leak, severity: grounding, disposition: accepted, accepted_condition: {owner: lead}, \
             related: [s01, parts/p1]}\n\
             parts:\n  p1: {display_name: a, kind: k, interfaces: [{kind: hand, hand: left, count: 2}], figures: {Rate: 1, rate_n: fast}}\n",
        ),
        &[
            "regulated_items.k1.facts[\"plumbed\"] @ line 4, column 52: must be true, false, a number or a text; put \"yes\"",
            "regulated_items.k1.facts[\"code\"] @ line 4",
            "regulated_items.k1.facts[\"at\"] @ line 4",
            "regulated_items.k1.facts[\"mark\"] @ line 4",
            "departures.d1.departure_date @ line 6, column 41: must be a date YYYY-MM-DD",
            "departures.d1.return_date @ line 6, column 66: must be a date",
            "departures.d1.crew[0].driver @ line 6, column 129: must be true or false, is \"yes\"",
            "defects.d1.accepted_condition.condition @ line 8",
            "defects.d1.accepted_condition.check_interval @ line 8",
            "defects.d1.accepted_condition.accepted_by @ line 8",
            "defects.d1.accepted_condition.accepted_date @ line 8",
            "defects.d1.related[0] @ line 8, column 129: must be one of `substitutions/…`, `regulated_items/…`, `evidence/…`",
            "defects.d1.related[1] @ line 8, column 134: must be one of",
            "parts.p1.interfaces[0].count @ line 10, column 72: cannot stand beside `hand`",
            "parts.p1.figures[\"Rate\"] @ line 10, column 94: must have a key",
            "parts.p1.figures[\"rate_n\"] @ line 10, column 111: must be a number",
        ],
    );
}

#[test]
fn identity_has_no_place_in_a_file() {
    expect(
        &file("parts:\n  p1: {name: p1, etag: '7', display_name: a, kind: k}\n"),
        &[
            "parts.p1.name @ line 4, column 8: is kept by",
            "parts.p1.etag @ line 4, column 18: is kept by",
        ],
    );
}

#[test]
fn a_file_states_its_version_and_fleet() {
    expect(
        "fleet: {id: a}\n",
        &["fleet_file @ line 1, column 1: must be set to the version"],
    );
    expect(
        "fleet_file: 2\nfleet: {id: a}\n",
        &["fleet_file @ line 1, column 13: must be 1"],
    );
    expect("- 1\n", &["fleet_file @ line 1, column 1: must be a mapping"]);
    expect(
        "fleet_file: 1\nfleet: {display_name: a}\nparts: {p: {display_name: b}}\n",
        &[
            "fleet.id @ line 2, column 8: must be the fleet's id",
            "parts.p.kind @ line 3, column 12: must be set",
        ],
    );
    expect("fleet_file: 1\n", &["fleet.id @ line 1, column 1: must be"]);
}

#[test]
fn a_wrong_contract_value_stands_at_its_own_place() {
    let long = "x".repeat(201);
    expect(
        &file(&format!(
            "vehicles:\n  v1:\n    display_name: {long}\n    specification:\n      wheelbase_mm: 5e9\n      roof: {{limit_kg: .inf}}\n"
        )),
        &[
            "vehicles.v1.display_name @ line 5, column 19: must have at most 200 characters",
            "vehicles.v1.specification.wheelbase_mm @ line 7, column 21: must be a number from 500 to 15000",
            "vehicles.v1.specification.roof.limit_kg @ line 8, column 24: must be a number, is \".inf\"",
        ],
    );
}

proptest! {
    #[test]
    fn no_bytes_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
    }

    #[test]
    fn no_text_of_signs_panics(text in "[-:{}\\[\\],&*!|>'\"#%@?~ \n\ta-c0-9.]{0,200}") {
        let _ = read(text.as_bytes());
        let _ = read(file(&text).as_bytes());
        let _ = read(file(&format!("vehicles:\n  v1:\n    specification: {text}")).as_bytes());
    }
}
