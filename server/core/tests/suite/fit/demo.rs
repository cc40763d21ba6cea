//! What blocks each of the ten substitutions of the demonstration fleet.

use ostler_core::fit::{Fit, SubstitutionAssessment, assess};

use super::demo_fleet::demo;
use super::fixture::{Build, name};

pub(super) fn assessed(build: &Build, substitution: &str) -> SubstitutionAssessment {
    let substitution = &build.record.substitutions[&name("substitutions", substitution)];
    assess(
        &build.record,
        &build.record.vehicles[&substitution.vehicle],
        substitution,
    )
    .unwrap()
}

pub(super) fn blockers(assessment: &SubstitutionAssessment) -> Vec<String> {
    let mut kinds: Vec<String> = assessment
        .interfaces
        .iter()
        .filter(|interface| interface.blocks)
        .map(|interface| interface.interface_kind.to_string())
        .collect();
    kinds.sort();
    kinds.dedup();
    kinds
}

#[test]
fn exactly_the_listed_interfaces_block() {
    let build = demo();
    let expected: [(&str, &[&str]); 10] = [
        ("s01", &["output_flange.rear", "parking_brake"]),
        ("s02", &[]),
        ("s03", &["u_bolt_leg_length"]),
        ("s04", &["closed_length"]),
        ("s05", &["thread_engagement"]),
        ("s06", &["load_capacity_kg"]),
        ("s07", &[]),
        ("s08", &["end_inside_diameter.engine"]),
        ("s09", &[]),
        ("s10", &["spigot_thread"]),
    ];
    for (substitution, kinds) in expected {
        let assessment = assessed(&build, substitution);
        assert_eq!(
            blockers(&assessment),
            kinds,
            "{substitution}: {:#?}",
            assessment.interfaces
        );
        assert_eq!(assessment.blocks, !kinds.is_empty(), "{substitution}");
        assert!(
            assessment.open_questions.is_empty(),
            "{substitution}: {:?}",
            assessment.open_questions
        );
        for interface in assessment.interfaces.iter().filter(|interface| interface.blocks) {
            assert!(
                !interface.remedies.is_empty(),
                "{substitution} {}",
                interface.interface_kind
            );
        }
    }
}

#[test]
fn stud_engagement_is_computed() {
    let assessment = assessed(&demo(), "s05");
    let worst = &assessment.interfaces[0];
    assert_eq!(&*worst.interface_kind, "thread_engagement");
    assert_eq!(
        (worst.required.as_str(), worst.offered.as_str()),
        ("at least 12 mm", "9 mm")
    );
    assert!(
        worst.reason.contains("27 mm of stud less 18 mm of nave"),
        "{}",
        worst.reason
    );
    assert_eq!(worst.fit, Fit::Bridged);
}

#[test]
fn a_gearbox_is_worst_first_with_its_figures() {
    let assessment = assessed(&demo(), "s01");
    assert_eq!(assessment.fit, Fit::Bridged);
    assert!(assessment.interfaces[0].blocks && assessment.interfaces[1].blocks);
    let length = assessment
        .interfaces
        .iter()
        .find(|interface| &*interface.interface_kind == "overall_length");
    assert_eq!(
        length.map(|interface| interface.fit),
        Some(Fit::Matches),
        "within the slip joint's travel"
    );
    assert_eq!(assessment.figure_changes.len(), 1);
    assert_eq!(assessment.figure_changes[0].incoming, 4.84);
}

#[test]
fn withdrawing_a_note_opens_again_what_it_closed() {
    let mut build = demo();
    assert!(
        build
            .record
            .compatibility_notes
            .remove(&name("compatibilityNotes", "s07-loom"))
            .is_some()
    );
    let assessment = assessed(&build, "s07");
    assert_eq!(blockers(&assessment), ["connector"]);
    assert_eq!(assessment.fit, Fit::Clashes);
}
