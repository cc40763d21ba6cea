//! Missing values, contradicting notes, settlements, sides, masses.

use ostler_core::fit::{Fit, InterfaceAssessment, SubstitutionAssessment};
use ostler_core::record::{InterfaceValue, NoteBasis, NoteFinding, VehicleSystem};
use proptest::prelude::*;

use super::demo::{assessed, blockers};
use super::demo_fleet::demo;
use super::fixture::{
    Against, Build, LEFT, RIGHT, count, id, interface, mm, name, plug, requirement, settlement, slot, text,
};

/// An alternator's slot, the old and the new part with these connectors.
pub(super) fn alternator(required: Option<&str>, offered: Option<&str>) -> Build {
    let mut build = Build::new();
    build.vehicle(
        "v2",
        vec![slot(
            "alternator",
            "alternator",
            VehicleSystem::Electrical,
            vec![],
        )],
    );
    let rest = || vec![("mounting_ears", text("two ears")), ("pulley_ribs", count(5))];
    build
        .part("old", "alternator", rest())
        .interfaces
        .push(interface("connector", required.map(plug)));
    build
        .part("new", "alternator", rest())
        .interfaces
        .push(interface("connector", offered.map(plug)));
    build.substitute("s", "v2", &[("alternator", Some("old"), "new")]);
    build
}

fn connector(assessment: &SubstitutionAssessment) -> &InterfaceAssessment {
    let found = assessment
        .interfaces
        .iter()
        .find(|interface| &*interface.interface_kind == "connector");
    found.unwrap()
}

fn settle(build: &mut Build, substitution: &str, slot: &str, kind: &str) {
    let substitution = build
        .record
        .substitutions
        .get_mut(&name("substitutions", substitution))
        .unwrap();
    substitution
        .settlements
        .push(settlement(slot, kind, "done on the bench"));
}

#[test]
fn missing_values_are_not_known_and_asked_for() {
    for (required, offered, whose) in [
        (None, Some("oval"), "on the vehicle)"),
        (Some("oval"), None, "on new)"),
        (None, None, "on the vehicle and on new)"),
    ] {
        let assessment = assessed(&alternator(required, offered), "s");
        assert_eq!(connector(&assessment).fit, Fit::NotKnown);
        assert!(assessment.blocks && connector(&assessment).blocks);
        assert_eq!(assessment.open_questions.len(), 1);
        assert!(
            assessment.open_questions[0].question.ends_with(whose),
            "{:?}",
            assessment.open_questions
        );
    }
}

#[test]
fn the_checklist_of_the_slot_asks_what_nobody_states() {
    let mut build = alternator(Some("oval"), Some("oval"));
    assert!(!assessed(&build, "s").blocks);
    for part in build.record.parts.values_mut() {
        part.interfaces
            .retain(|interface| &*interface.kind != "pulley_ribs");
    }
    let assessment = assessed(&build, "s");
    assert_eq!(blockers(&assessment), ["pulley_ribs"]);
    assert_eq!(
        assessment.open_questions[0].question,
        "How many ribs has the pulley? (on the vehicle and on new)"
    );
    assert_eq!(assessment.open_questions[0].measuring, "count the grooves");
}

#[test]
fn what_only_the_new_part_states_is_asked_for() {
    let mut build = alternator(Some("oval"), Some("oval"));
    let new = build.record.parts.get_mut(&name("parts", "new")).unwrap();
    new.interfaces.push(interface("vacuum_port", Some(mm(8.0))));
    assert_eq!(blockers(&assessed(&build, "s")), ["vacuum_port"]);
}

#[test]
fn contradicting_notes_stand_side_by_side_and_the_worst_holds() {
    let mut build = alternator(Some("oval"), Some("flat"));
    build.note(
        "a",
        ("new", Against::Part("old")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Matches);
    build.note(
        "b",
        ("old", Against::Part("new")),
        "connector",
        NoteFinding::FitsWithWork,
        "adapter loom",
    );
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::Bridged);
    assert!(connector(&assessment).notes_disagree);
    assert_eq!(connector(&assessment).compatibility_notes.len(), 2);
    build.note(
        "c",
        ("new", Against::Kind("v2-kind")),
        "connector",
        NoteFinding::DoesNotFit,
        "another part",
    );
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::Clashes);
    assert_eq!(connector(&assessment).compatibility_notes.len(), 3);
    let remedies: Vec<_> = connector(&assessment)
        .remedies
        .iter()
        .map(|remedy| remedy.text.as_str())
        .collect();
    assert_eq!(remedies, ["adapter loom", "another part"]);
}

#[test]
fn notes_about_other_parts_kinds_and_interfaces_say_nothing() {
    let mut build = alternator(Some("oval"), Some("flat"));
    build.part("stranger", "alternator", vec![]);
    build.note(
        "a",
        ("new", Against::Part("stranger")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    build.note(
        "b",
        ("new", Against::Kind("v9-kind")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    build.note(
        "c",
        ("new", Against::Part("old")),
        "pulley_ribs",
        NoteFinding::Fits,
        "",
    );
    let note = build.note(
        "d",
        ("new", Against::Part("old")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    note.vehicle_kind = Some(id("v9-kind"));
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::Clashes);
    assert!(connector(&assessment).compatibility_notes.is_empty());
}

#[test]
fn notes_with_a_neighbour_in_another_slot_count() {
    let mut build = alternator(Some("oval"), Some("flat"));
    build.part("loom", "loom", vec![]);
    build.note(
        "a",
        ("loom", Against::Part("new")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Clashes);
    build.fit("v2", "loom", Some("loom"));
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Matches);
}

#[test]
fn a_note_that_parts_do_not_fit_overrules_values_that_match() {
    let mut build = alternator(Some("oval"), Some("oval"));
    build.note(
        "a",
        ("new", Against::Part("old")),
        "connector",
        NoteFinding::DoesNotFit,
        "",
    );
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Clashes);
}

#[test]
fn hearsay_does_not_fill_in_for_missing_values() {
    let mut build = alternator(Some("oval"), None);
    build
        .note(
            "a",
            ("new", Against::Part("old")),
            "connector",
            NoteFinding::Fits,
            "",
        )
        .basis = NoteBasis::Heard;
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::NotKnown);
    assert_eq!(connector(&assessment).compatibility_notes.len(), 1);
    build.note(
        "b",
        ("new", Against::Part("old")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Matches);
}

#[test]
fn what_is_essential_is_said_by_the_slot_then_the_vocabulary_and_else_assumed() {
    let cases = [
        ("connector", None, false),
        ("connector", Some(true), true),
        ("output_flange", None, true),
    ];
    for (kind, essential, blocks) in cases
        .into_iter()
        .chain([("odd_thing", None, true), ("odd_thing", Some(false), false)])
    {
        let mut build = Build::new();
        let mut asked = requirement(kind, text("a"));
        asked.essential = essential;
        build.vehicle(
            "v",
            vec![slot("thing", "thing", VehicleSystem::Body, vec![asked])],
        );
        build.part("new", "thing", vec![(kind, text("b"))]);
        build.note(
            "n",
            ("new", Against::Kind("v-kind")),
            kind,
            NoteFinding::FitsWithWork,
            "work",
        );
        build.substitute("s", "v", &[("thing", None, "new")]);
        assert_eq!(assessed(&build, "s").blocks, blocks, "{kind} {essential:?}");
        settle(&mut build, "s", "thing", kind);
        assert!(!assessed(&build, "s").blocks, "{kind} {essential:?}");
    }
}

#[test]
fn a_note_about_two_of_the_same_part_needs_both() {
    let mut build = alternator(Some("oval"), Some("flat"));
    build.note(
        "a",
        ("new", Against::Part("new")),
        "connector",
        NoteFinding::Fits,
        "",
    );
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Clashes);
    build.fit("v2", "alternator.second", Some("new"));
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Matches);
}

#[test]
fn cautions_are_told_and_do_not_block() {
    let assessment = {
        let build = demo();
        assessed(&build, "s06")
    };
    assert!(
        assessment
            .cautions
            .iter()
            .any(|caution| caution.contains("speedometer")),
        "{:?}",
        assessment.cautions
    );
}

#[test]
fn a_settlement_does_what_it_can_and_no_more() {
    let mut build = demo();
    settle(&mut build, "s01", "gearbox", "output_flange.rear");
    assert_eq!(blockers(&assessed(&build, "s01")), ["parking_brake"]);
    settle(&mut build, "s01", "gearbox", "parking_brake");
    let done = assessed(&build, "s01");
    assert!(!done.blocks);
    assert_eq!(done.fit, Fit::Bridged);
    // A note that it does not fit stands.
    settle(&mut build, "s08", "hose.lower", "end_inside_diameter.engine");
    assert_eq!(blockers(&assessed(&build, "s08")), ["end_inside_diameter.engine"]);
    // Measured and right.
    let mut build = alternator(Some("oval"), None);
    settle(&mut build, "s", "alternator", "connector");
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::Matches);
    assert!(assessment.open_questions.is_empty());
    // A mismatch that no note speaks of.
    let mut build = alternator(Some("oval"), Some("flat"));
    settle(&mut build, "s", "alternator", "connector");
    assert_eq!(connector(&assessed(&build, "s")).fit, Fit::Bridged);
    settle(&mut build, "s", "alternator", "conector");
    let told = assessed(&build, "s").cautions;
    assert!(
        told.iter().any(|caution| caution.contains("conector")),
        "{told:?}"
    );
}

#[test]
fn handed_parts_on_the_wrong_side_clash() {
    let mut build = Build::new();
    let side = |side: &str| slot(&format!("arm.{side}"), "arm", VehicleSystem::Suspension, vec![]);
    build.vehicle("v1", vec![side("left"), side("right")]);
    build.part("arm-l", "arm", vec![]).hand = LEFT;
    build.part("arm-r", "arm", vec![]).hand = RIGHT;
    build.part("arm-both", "arm", vec![]);
    build.substitute(
        "right",
        "v1",
        &[("arm.left", None, "arm-l"), ("arm.right", None, "arm-r")],
    );
    build.substitute(
        "wrong",
        "v1",
        &[("arm.left", None, "arm-r"), ("arm.right", None, "arm-l")],
    );
    build.substitute("either", "v1", &[("arm.left", None, "arm-both")]);
    assert!(!assessed(&build, "right").blocks);
    assert_eq!(
        assessed(&build, "wrong")
            .interfaces
            .iter()
            .filter(|interface| interface.blocks)
            .count(),
        2
    );
    assert!(!assessed(&build, "either").blocks);
}

#[test]
fn values_of_different_types_clash() {
    let mut build = alternator(Some("oval"), None);
    let new = build.record.parts.get_mut(&name("parts", "new")).unwrap();
    new.interfaces.last_mut().unwrap().value = Some(count(3));
    let assessment = assessed(&build, "s");
    assert_eq!(connector(&assessment).fit, Fit::Clashes);
    assert_eq!(
        connector(&assessment).reason,
        "a connector is required and a count is offered, which cannot be compared"
    );
}

#[test]
fn a_part_of_another_kind_clashes() {
    let mut build = alternator(Some("oval"), Some("oval"));
    build.record.parts.get_mut(&name("parts", "new")).unwrap().kind = id("starter");
    assert_eq!(blockers(&assessed(&build, "s")), ["part_kind"]);
}

fn value() -> impl Strategy<Value = Option<InterfaceValue>> {
    prop_oneof![
        Just(None),
        (0..3_u8).prop_map(|index| Some(mm(f64::from(index)))),
        (0..3_i64).prop_map(|value| Some(count(value))),
        prop::sample::select(vec!["a", "b"]).prop_map(|value| Some(text(value))),
    ]
}

fn finding() -> impl Strategy<Value = NoteFinding> {
    prop::sample::select(vec![
        NoteFinding::Fits,
        NoteFinding::Caution,
        NoteFinding::FitsWithWork,
        NoteFinding::DoesNotFit,
    ])
}

proptest! {
    /// What is missing never reads as ready; a worse note never makes a verdict better; the whole is as
    /// bad as its worst interface.
    #[test]
    fn verdicts_are_cautious(
        required in value(),
        offered in value(),
        findings in prop::collection::vec(finding(), 0..3),
        worse in finding(),
    ) {
        let mut build = Build::new();
        let mut asked = requirement("width", mm(0.0));
        asked.interface.value = required.clone();
        build.vehicle("v", vec![slot("thing", "thing", VehicleSystem::Body, vec![asked])]);
        build.part("new", "thing", vec![]).interfaces.push(interface("width", offered.clone()));
        build.substitute("s", "v", &[("thing", None, "new")]);
        let bare = assessed(&build, "s");
        if required.is_none() || offered.is_none() {
            prop_assert_eq!(bare.fit, Fit::NotKnown);
            prop_assert!(bare.blocks && !bare.open_questions.is_empty());
        } else {
            prop_assert_eq!(bare.fit == Fit::Matches, required == offered);
        }
        for (index, finding) in findings.iter().enumerate() {
            build.note(&format!("n{index}"), ("new", Against::Kind("v-kind")), "width", *finding, "work");
        }
        let noted = assessed(&build, "s");
        build.note("worse", ("new", Against::Kind("v-kind")), "width", worse, "work");
        let more = assessed(&build, "s");
        prop_assert!(findings.is_empty() || more.fit >= noted.fit);
        prop_assert_eq!(more.interfaces.len(), 1);
        prop_assert_eq!(more.fit, more.interfaces[0].fit);
        prop_assert_eq!(more.blocks, more.interfaces[0].blocks);
        if worse == NoteFinding::DoesNotFit {
            settle(&mut build, "s", "thing", "width");
            prop_assert!(assessed(&build, "s").blocks);
        }
    }
}
