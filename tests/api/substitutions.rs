//! A part of which too little is known.

use ostler_proto::v1::{self, Answer, Fit};
use ostler_tests::client::Client;
use ostler_tests::on_both_databases;

use crate::demo;

/// The interfaces of the demo's gearboxes but for the input spline, which the new part states.
const UNKNOWN: [&str; 8] = [
    "bell_housing_pattern",
    "lever_position",
    "mount_offset",
    "output_flange.rear",
    "overall_length",
    "parking_brake",
    "reverse_switch_connector",
    "speedometer_ratio",
];

/// A gearbox of which only the input spline was counted, to replace that of `v3`.
async fn record(admin: &Client) -> v1::Substitution {
    let spline = v1::Interface {
        kind: "input_spline_count".into(),
        value: Some(v1::interface::Value::Count(21)),
    };
    let part = v1::Part {
        display_name: "gearbox from the yard".into(),
        kind: "gearbox".into(),
        interfaces: vec![spline],
        ..Default::default()
    };
    let request = v1::CreatePartRequest {
        parent: demo::FLEET.into(),
        part_id: "gearbox-c".into(),
        part: Some(part),
        ..Default::default()
    };
    let part: v1::Part = admin.ask(request).await.unwrap();
    let replacement = v1::Replacement {
        slot: "gearbox".into(),
        incoming_part: part.name,
        outgoing_part: String::new(),
    };
    let substitution = v1::Substitution {
        vehicle: demo::name("vehicles/v3"),
        replacements: vec![replacement],
        supersedes: demo::name("substitutions/s01"),
        ..Default::default()
    };
    let request = v1::RecordSubstitutionRequest {
        parent: demo::FLEET.into(),
        substitution_id: "s11".into(),
        substitution: Some(substitution),
        ..Default::default()
    };
    admin.ask(request).await.unwrap()
}

async fn assess(admin: &Client, name: &str) -> v1::SubstitutionAssessment {
    let subject = v1::assess_substitution_request::Subject::Name(name.into());
    let request = v1::AssessSubstitutionRequest {
        subject: Some(subject),
        ..Default::default()
    };
    admin.ask(request).await.unwrap()
}

pub(crate) fn keep(name: &str) -> v1::KeepAssessmentRequest {
    v1::KeepAssessmentRequest {
        name: name.into(),
        ..Default::default()
    }
}

pub(crate) fn approve(name: &str) -> v1::ApproveSubstitutionRequest {
    v1::ApproveSubstitutionRequest {
        name: name.into(),
        approved_by: "lead".into(),
        approved_date: "2027-04-01".into(),
        ..Default::default()
    }
}

fn kinds_that_are(fit: Fit, assessment: &v1::SubstitutionAssessment) -> Vec<&str> {
    let interfaces = assessment
        .interfaces
        .iter()
        .filter(|interface| interface.fit() == fit);
    let mut kinds: Vec<&str> = interfaces
        .map(|interface| interface.interface_kind.as_str())
        .collect();
    kinds.sort_unstable();
    kinds
}

/// What readiness makes of a substitution.
fn answers(readiness: &v1::Readiness, name: &str) -> Vec<Answer> {
    demo::findings(readiness, "v3")
        .into_iter()
        .filter(|(_, finding)| finding.records.iter().any(|record| record == name))
        .map(|(_, finding)| finding.answer())
        .collect()
}

on_both_databases! {
    async fn what_is_not_known_is_asked_for_and_never_reads_as_ready(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let recorded = record(&admin).await;
        assert_eq!(recorded.state(), v1::SubstitutionState::Proposed);
        assert_eq!(recorded.replacements[0].outgoing_part, demo::name("parts/gearbox-a"));
        let superseded = v1::GetSubstitutionRequest { name: demo::name("substitutions/s01") };
        let superseded: v1::Substitution = admin.ask(superseded).await.unwrap();
        assert_eq!(superseded.state(), v1::SubstitutionState::Withdrawn);

        let assessment = assess(&admin, &recorded.name).await;
        assert_eq!(assessment.fit(), Fit::Unknown);
        assert!(assessment.blocks);
        assert_eq!(kinds_that_are(Fit::Unknown, &assessment), UNKNOWN);
        assert_eq!(kinds_that_are(Fit::Matches, &assessment), ["input_spline_count"]);
        let mut asked: Vec<&str> = assessment.open_questions.iter().map(|question| question.interface_kind.as_str()).collect();
        asked.sort_unstable();
        asked.dedup();
        assert_eq!(asked, UNKNOWN);
        assert!(assessment.open_questions.iter().all(|question| !question.question.is_empty()));
        assert_eq!(assessment.mass_change_kg, None);

        let readiness = demo::readiness(&admin).await;
        let answers = answers(&readiness, &recorded.name);
        let unknown = answers.iter().filter(|answer| **answer == Answer::NotKnown).count();
        assert_eq!(unknown, UNKNOWN.len(), "{answers:?}");
        assert!(!answers.contains(&Answer::Met), "{answers:?}");
        assert_eq!(readiness.verdict(), v1::Verdict::NoGo);
        server.stop().await;
    }

    async fn settling_every_interface_clears_it(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let recorded = record(&admin).await;
        let mut change = v1::Substitution { name: recorded.name.clone(), ..Default::default() };
        let mut open = UNKNOWN.to_vec();
        while let Some(kind) = open.pop() {
            change.settlements.push(v1::Settlement {
                slot: "gearbox".into(),
                interface_kind: kind.into(),
                how: "measured on the bench, same as the old one".into(),
                settled_by: "workshop".into(),
                settled_date: "2027-03-20".into(),
                ..Default::default()
            });
            let request = v1::UpdateSubstitutionRequest { substitution: Some(change.clone()), ..Default::default() };
            admin.ask::<v1::Substitution>(request).await.unwrap();
            let assessment = assess(&admin, &recorded.name).await;
            assert_eq!(kinds_that_are(Fit::Unknown, &assessment), open);
            assert_eq!(assessment.blocks, !open.is_empty(), "{open:?}");
            assert_eq!(assessment.open_questions.is_empty(), open.is_empty());
        }
        let readiness = demo::readiness(&admin).await;
        let blocking = answers(&readiness, &recorded.name);
        assert!(!blocking.contains(&Answer::NotMet), "{blocking:?}");

        admin.ask::<v1::Substitution>(keep(&recorded.name)).await.unwrap();
        admin.ask::<v1::Substitution>(approve(&recorded.name)).await.unwrap();
        let request = v1::FitSubstitutionRequest {
            name: recorded.name.clone(),
            fitted_date: "2027-03-21".into(),
            ..Default::default()
        };
        let fitted: v1::Substitution = admin.ask(request.clone()).await.unwrap();
        assert_eq!(fitted.state(), v1::SubstitutionState::Fitted);
        let fitment = v1::GetFitmentRequest { name: demo::name("vehicles/v3/fitments/gearbox") };
        let fitment: v1::Fitment = admin.ask(fitment).await.unwrap();
        assert_eq!(fitment.part, demo::name("parts/gearbox-c"));
        assert_eq!(fitment.substitution, recorded.name);
        let again = ostler_tests::client::refused(admin.ask::<v1::Substitution>(request).await);
        assert_eq!((again.code, again.reason.as_str()), (tonic::Code::FailedPrecondition, "WRONG_STATE"));
        server.stop().await;
    }

    async fn withdrawing_a_note_opens_again_what_it_closed(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let name = demo::name("substitutions/s07");
        assert!(!assess(&admin, &name).await.blocks);
        let note = demo::name("compatibilityNotes/alternator-130-pulley-ribs");
        let kept: v1::CompatibilityNote = admin.ask(v1::GetCompatibilityNoteRequest { name: note.clone() }).await.unwrap();
        admin.ask::<()>(v1::DeleteCompatibilityNoteRequest { name: note, ..Default::default() }).await.unwrap();
        let opened = assess(&admin, &name).await;
        assert_eq!(kinds_that_are(Fit::Clashes, &opened), ["pulley_ribs"]);
        assert_eq!(opened.bridges[0].unbridged, ["pulley_ribs"]);
        assert!(opened.blocks);
        // The connector has an adapter on record beside its note: one of them is enough.
        let note = demo::name("compatibilityNotes/alternator-130-connector");
        admin.ask::<()>(v1::DeleteCompatibilityNoteRequest { name: note, ..Default::default() }).await.unwrap();
        let opened = assess(&admin, &name).await;
        assert_eq!(kinds_that_are(Fit::Clashes, &opened), ["pulley_ribs"]);
        let again = v1::CreateCompatibilityNoteRequest {
            parent: demo::FLEET.into(),
            compatibility_note_id: "pulley".into(),
            compatibility_note: Some(kept),
            ..Default::default()
        };
        admin.ask::<v1::CompatibilityNote>(again).await.unwrap();
        let closed = assess(&admin, &name).await;
        assert!(!closed.blocks);
        let chain = closed.bridges[0].chain.clone().unwrap();
        let adapters: Vec<&str> =
            chain.steps.iter().filter_map(|step| step.remedy.as_ref()).map(|remedy| remedy.adapter.as_str()).collect();
        assert!(adapters.contains(&demo::name("parts/loom-3-to-4-pin").as_str()), "{adapters:?}");
        assert_eq!((chain.hours, chain.lead_days), (Some(1.0), Some(0.0)));
        server.stop().await;
    }

    async fn the_demo_is_blocked_by_what_its_story_says_and_each_has_a_remedy(database: &Database) {
        let (server, admin) = demo::start(database).await;
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
            let assessment = assess(&admin, &demo::name(&format!("substitutions/{substitution}"))).await;
            let blocking: Vec<_> = assessment.interfaces.iter().filter(|interface| interface.blocks).collect();
            assert!(blocking.iter().all(|interface| !interface.remedies.is_empty()), "{substitution}: {blocking:?}");
            let mut found: Vec<&str> = blocking.iter().map(|interface| interface.interface_kind.as_str()).collect();
            found.sort_unstable();
            found.dedup();
            assert_eq!(found, kinds, "{substitution}");
            assert!(assessment.open_questions.is_empty(), "{substitution}: {:?}", assessment.open_questions);
        }
        server.stop().await;
    }
}
