//! Which parts would serve a slot, and which slots a part.

use ostler_core::fit::{Fit, parts_for_slot, slots_for_part};

use super::demo_fleet::demo;
use super::fixture::name;

#[test]
fn parts_for_a_slot_come_best_first_with_what_they_need() {
    let mut build = demo();
    build.fit("v3", "gearbox", Some("gearbox-a"));
    build.part("gearbox-x", "gearbox", vec![]);
    let vehicle = &build.record.vehicles[&name("vehicles", "v3")];
    let found = parts_for_slot(&build.record, vehicle, "gearbox", 10).unwrap();
    let ids: Vec<&str> = found.iter().map(|candidate| candidate.part.id()).collect();
    assert_eq!(ids, ["gearbox-a", "gearbox-b", "gearbox-x"]);
    assert!(found[0].fitted && found[0].fit == Fit::Matches);
    assert!(!found[1].fitted && found[1].clashing.is_empty() && found[1].to_bridge.len() == 6);
    assert_eq!(found[2].fit, Fit::NotKnown);
    assert!(found[2].not_known.len() >= 9, "{:?}", found[2]);
    assert_eq!(
        parts_for_slot(&build.record, vehicle, "gearbox", 1)
            .unwrap()
            .len(),
        1
    );
}

#[test]
fn slots_for_a_part_are_looked_for_in_the_whole_convoy() {
    let build = demo();
    let part = &build.record.parts[&name("parts", "damper-new")];
    let found = slots_for_part(&build.record, part, 10).unwrap();
    assert!(
        found.len() >= 2 && found.iter().all(|found| found.vehicle == name("vehicles", "v2")),
        "{found:?}"
    );
}

#[test]
fn what_makes_no_sense_is_refused() {
    let build = demo();
    let vehicle = &build.record.vehicles[&name("vehicles", "v3")];
    for (slot, most, field) in [
        ("chimney", 10, "slot"),
        ("gearbox", 0, "max_results"),
        ("gearbox", 1_001, "max_results"),
    ] {
        let refused = parts_for_slot(&build.record, vehicle, slot, most).unwrap_err();
        assert_eq!(refused.violations[0].field, field);
    }
}
