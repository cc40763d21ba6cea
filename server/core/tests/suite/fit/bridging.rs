//! Adapters on record and noted work bridge what does not match; measurements close what is open.

use ostler_core::fit::{Crossing, Fit, JobStage, Means, SubstitutionAssessment};
use ostler_core::record::{InterfaceValue, NoteFinding};

use super::demo::{assessed, blockers};
use super::demo_fleet::demo;
use super::fixture::{Against, Build, circle, id, interface, mm, name, plug, settlement};

fn replaces(kind: &str, from: InterfaceValue, to: InterfaceValue) -> Crossing {
    Crossing::Replaces {
        kind: id(kind),
        from,
        to,
    }
}

fn lengthens(kind: &str, by_mm: f64) -> Crossing {
    Crossing::Lengthens {
        kind: id(kind),
        by_mm,
    }
}

fn steps(assessment: &SubstitutionAssessment, slot: usize) -> Vec<String> {
    let chain = assessment.bridges[slot].chain.as_ref();
    chain.map_or_else(Vec::new, |chain| {
        chain.steps.iter().map(|step| step.text.clone()).collect()
    })
}

fn fit_of(assessment: &SubstitutionAssessment, kind: &str) -> Fit {
    assessment
        .interfaces
        .iter()
        .find(|interface| &*interface.interface_kind == kind)
        .unwrap()
        .fit
}

/// Every note of the demo that describes work, with hours, mass and waiting.
fn demo_with_costs() -> Build {
    let mut build = demo();
    for note in build.record.compatibility_notes.values_mut() {
        note.remedy_hours = Some(4.0);
        note.remedy_mass_kg = Some(0.0);
        note.remedy_lead_days = Some(0.0);
    }
    build
}

#[test]
fn every_blocker_of_the_demo_has_its_remedy_and_all_work_is_in_one_chain() {
    let build = demo();
    for (substitution, unbridged) in [
        ("s01", &[][..]),
        ("s02", &[]),
        ("s03", &[]),
        ("s04", &[]),
        ("s05", &[]),
        ("s06", &["load_capacity_kg"]),
        ("s07", &[]),
        ("s08", &["end_inside_diameter.engine"]),
        ("s09", &[]),
        ("s10", &["spigot_thread"]),
    ] {
        let assessment = assessed(&build, substitution);
        for bridge in &assessment.bridges {
            let found: Vec<&str> = bridge.unbridged.iter().map(|kind| &**kind).collect();
            assert_eq!(found, unbridged, "{substitution}");
            let chain = bridge.chain.as_ref();
            for interface in &assessment.interfaces {
                let bridged = chain.is_some_and(|chain| {
                    let mut kinds = chain.steps.iter().flat_map(|step| &step.interface_kinds);
                    kinds.any(|kind| *kind == interface.interface_kind)
                });
                let wanted = interface.fit == Fit::Bridged && interface.slot == bridge.slot;
                assert!(!wanted || bridged, "{substitution} {}", interface.interface_kind);
            }
            assert!(
                chain.is_none_or(|chain| chain.steps.is_empty() || chain.hours.is_none()),
                "hours that no note states are not known"
            );
        }
    }
}

#[test]
fn an_adapter_on_record_bridges_a_clash_that_no_note_speaks_of() {
    let mut build = demo();
    build
        .record
        .compatibility_notes
        .remove(&name("compatibilityNotes", "s07-loom"));
    assert_eq!(blockers(&assessed(&build, "s07")), ["connector"]);
    let crossing = replaces("connector", plug("4-pin rectangular"), plug("3-pin oval"));
    build.adapter("loom", vec![crossing], 0.5);
    let assessment = assessed(&build, "s07");
    assert_eq!(fit_of(&assessment, "connector"), Fit::Bridged);
    assert!(blockers(&assessment).is_empty());
    assert!(steps(&assessment, 0).contains(&"loom".to_owned()));
    let connector = assessment
        .interfaces
        .iter()
        .find(|interface| &*interface.interface_kind == "connector")
        .unwrap();
    assert_eq!(connector.remedies[0].means, Means::Adapter(name("parts", "loom")));
}

#[test]
fn the_cheaper_of_adapter_and_work_is_taken_and_the_other_shown() {
    let mut build = demo_with_costs();
    let flange = || {
        replaces(
            "output_flange.rear",
            circle(4, 95.0, "M11"),
            circle(4, 90.0, "M10"),
        )
    };
    build.adapter(
        "adapter-12",
        vec![flange(), lengthens("overall_length", 12.0)],
        1.0,
    );
    let assessment = assessed(&build, "s01");
    assert!(
        steps(&assessment, 0).contains(&"adapter-12".to_owned()),
        "{:?}",
        assessment.bridges
    );
    let bridge = &assessment.bridges[0];
    let others = bridge.alternatives.iter();
    assert!(
        others
            .clone()
            .any(|other| other.steps.iter().all(|step| step.text != "adapter-12")),
        "{:?}",
        bridge.alternatives
    );
    let best = bridge.chain.as_ref().unwrap();
    assert!(others.clone().all(|other| other.hours >= best.hours));
    // 806 mm and 30 mm more are outside 802 +/- 25 mm: the thick adapter would spoil the slip joint.
    let crossings = vec![flange(), lengthens("overall_length", 30.0)];
    build.adapter("adapter-12", crossings, 0.1);
    assert!(!steps(&assessed(&build, "s01"), 0).contains(&"adapter-12".to_owned()));
}

#[test]
fn a_chain_of_which_all_is_known_is_preferred_and_what_is_not_known_stays_so() {
    let mut build = demo();
    let crossing = replaces("connector", plug("4-pin rectangular"), plug("3-pin oval"));
    build.adapter("loom", vec![crossing.clone()], 40.0);
    let assessment = assessed(&build, "s07");
    assert!(steps(&assessment, 0).contains(&"loom".to_owned()));
    let chain = assessment.bridges[0].chain.as_ref().unwrap();
    assert_eq!(chain.hours, None, "the pulley's hours are not noted");
    let adapter = build
        .adapter("loom", vec![crossing], 40.0)
        .adapter
        .as_mut()
        .unwrap();
    adapter.fitting_hours = Some(-1.0);
    let substitution = &build.record.substitutions[&name("substitutions", "s07")];
    let vehicle = &build.record.vehicles[&substitution.vehicle];
    let refused = ostler_core::fit::assess(&build.record, vehicle, substitution).unwrap_err();
    assert!(refused.to_string().contains("hours"), "{refused}");
}

#[test]
fn a_done_remedy_needs_no_step_any_more() {
    let mut build = demo();
    let before = steps(&assessed(&build, "s01"), 0).len();
    let done = settlement("gearbox", "parking_brake", "housing and drum moved over");
    let substitution = build
        .record
        .substitutions
        .get_mut(&name("substitutions", "s01"))
        .unwrap();
    substitution.settlements.push(done);
    let after = assessed(&build, "s01");
    assert_eq!(steps(&after, 0).len(), before - 1);
    assert_eq!(blockers(&after), ["output_flange.rear"]);
}

#[test]
fn a_measurement_closes_an_open_question_by_its_value() {
    let mut build = demo();
    let part = build.record.parts.get_mut(&name("parts", "gearbox-b")).unwrap();
    part.interfaces
        .retain(|interface| &*interface.kind != "input_spline_count");
    let open = assessed(&build, "s01");
    let asked: Vec<_> = open
        .open_questions
        .iter()
        .map(|open| &*open.interface_kind)
        .collect();
    assert_eq!(asked, ["input_spline_count"]);
    assert_eq!(open.jobs[0].stage, JobStage::StripAndInspect);
    let measure = |build: &mut Build, splines| {
        let mut measured = settlement("gearbox", "input_spline_count", "counted at the clutch plate");
        measured.measured_on_part = Some(interface(
            "input_spline_count",
            Some(InterfaceValue::Count(splines)),
        ));
        build
            .record
            .substitutions
            .get_mut(&name("substitutions", "s01"))
            .unwrap()
            .settlements = vec![measured];
        assessed(build, "s01")
    };
    let right = measure(&mut build, 21);
    assert!(right.open_questions.is_empty());
    assert_eq!(fit_of(&right, "input_spline_count"), Fit::Matches);
    let wrong = measure(&mut build, 24);
    assert!(wrong.open_questions.is_empty(), "it is known now");
    assert_eq!(fit_of(&wrong, "input_spline_count"), Fit::Clashes);
    let reason = &wrong.interfaces[0].reason;
    assert!(reason.contains("measured by workshop"), "{reason}");
    // The measurement was right and the part is still wrong: that a note bridges it, the note must say.
    let pair = ("gearbox-b", Against::Part("gearbox-a"));
    build.note(
        "spline",
        pair,
        "input_spline_count",
        NoteFinding::FitsWithWork,
        "clutch plate of B",
    );
    assert_eq!(
        fit_of(&assessed(&build, "s01"), "input_spline_count"),
        Fit::Bridged
    );
}

#[test]
fn the_work_that_follows_comes_in_the_order_of_doing_it() {
    let assessment = assessed(&demo(), "s03");
    let jobs: Vec<_> = assessment
        .jobs
        .iter()
        .map(|job| (job.stage, job.evidence_topic.as_deref(), job.lead_days))
        .collect();
    assert_eq!(
        jobs,
        [
            (JobStage::Mechanical, None, Some(10.0)),
            (JobStage::Mechanical, None, Some(10.0)),
            (JobStage::Mechanical, None, None),
            (JobStage::Mechanical, None, None),
            (JobStage::Proving, Some("alignment"), None),
            (JobStage::Proving, Some("shakedown"), None),
            (JobStage::Proving, Some("weighing"), None),
        ],
        "the leaves' masses are not known, so it is weighed again"
    );
    let closed = lengthens("closed_length", -12.0);
    let mut build = demo_with_costs();
    build.adapter("spacer", vec![closed], 0.5);
    assert!(steps(&assessed(&build, "s04"), 0).contains(&"spacer".to_owned()));
    assert_eq!(mm(391.0 - 12.0), mm(379.0), "at most 383 mm are asked for");
}
