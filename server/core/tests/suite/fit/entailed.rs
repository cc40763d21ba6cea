//! Masses, and what is refused.

use super::assess::alternator;
use super::demo::assessed;
use super::fixture::{interface, mass, mm, name};

#[test]
fn the_mass_change_is_the_parts_and_carries_its_uncertainty() {
    let mut build = alternator(Some("oval"), Some("oval"));
    let mut weigh = |part: &str, mass_kg, tolerance_kg| {
        build.record.parts.get_mut(&name("parts", part)).unwrap().mass = mass(mass_kg, tolerance_kg);
    };
    weigh("old", 5.0, Some(0.3));
    weigh("new", 7.5, Some(0.4));
    let change = assessed(&build, "s").mass_change.unwrap();
    assert_eq!(change.mass_kg, 2.5);
    // 0.3, 0.4, 0.5: own calculation.
    assert!((change.uncertainty_kg.unwrap() - 0.5).abs() < 1e-12);
    build.record.parts.get_mut(&name("parts", "old")).unwrap().mass = mass(5.0, None);
    assert_eq!(assessed(&build, "s").mass_change.unwrap().uncertainty_kg, None);
    build.record.parts.get_mut(&name("parts", "old")).unwrap().mass = None;
    assert_eq!(assessed(&build, "s").mass_change, None);
}

#[test]
fn the_mass_of_an_empty_slot_is_nothing_and_of_an_unrecorded_one_not_known() {
    let mut build = alternator(Some("oval"), Some("oval"));
    build.record.parts.get_mut(&name("parts", "new")).unwrap().mass = mass(7.5, None);
    build.substitute("s", "v2", &[("alternator", None, "new")]);
    assert_eq!(assessed(&build, "s").mass_change, None);
    build.fit("v2", "alternator", None);
    assert_eq!(assessed(&build, "s").mass_change.unwrap().mass_kg, 7.5);
}

#[test]
fn what_is_not_on_record_is_refused_with_its_path() {
    let mut build = alternator(Some("oval"), Some("oval"));
    build.substitute(
        "s",
        "v2",
        &[("alternator", Some("gone"), "new"), ("gearbox", None, "nowhere")],
    );
    let new = build.record.parts.get_mut(&name("parts", "new")).unwrap();
    new.interfaces
        .push(interface("overall_length", Some(mm(f64::NAN))));
    let substitution = &build.record.substitutions[&name("substitutions", "s")];
    let vehicle = &build.record.vehicles[&name("vehicles", "v2")];
    let refused = ostler_core::fit::assess(&build.record, vehicle, substitution).unwrap_err();
    let fields: Vec<_> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "replacements[0].incoming_part.interfaces[3]",
            "replacements[0].outgoing_part",
            "replacements[1].slot",
            "replacements[1].incoming_part",
        ]
    );
}
