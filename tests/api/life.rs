//! The life of a substitution: every step in its place, every other refused with its reason.

use ostler_proto::v1::{self, SubstitutionState as State};
use ostler_tests::client::{Client, Refusal, refused};
use ostler_tests::on_both_databases;
use tonic::Code;

use crate::demo;
use crate::substitutions::{approve, keep};

fn fit(name: &str, date: &str) -> v1::FitSubstitutionRequest {
    v1::FitSubstitutionRequest {
        name: name.into(),
        fitted_date: date.into(),
        old_parts_place: "shelf 3, driveline workshop".into(),
        ..Default::default()
    }
}

fn prove(name: &str, evidence: &[&str]) -> v1::ProveSubstitutionRequest {
    v1::ProveSubstitutionRequest {
        name: name.into(),
        evidence: evidence
            .iter()
            .map(|id| demo::name(&format!("evidence/{id}")))
            .collect(),
        ..Default::default()
    }
}

fn undo(name: &str, date: &str) -> v1::UndoFittingRequest {
    v1::UndoFittingRequest {
        name: name.into(),
        undone_date: date.into(),
        ..Default::default()
    }
}

fn withdraw(name: &str) -> v1::WithdrawSubstitutionRequest {
    v1::WithdrawSubstitutionRequest {
        name: name.into(),
        ..Default::default()
    }
}

fn assert_refused(refusal: &Refusal, reason: &str, word: &str) {
    assert_eq!(
        (refusal.code, refusal.reason.as_str()),
        (Code::FailedPrecondition, reason),
        "{refusal:?}"
    );
    assert!(refusal.message.contains(word), "{refusal:?}");
}

async fn evidence(admin: &Client, id: &str, topic: &str, date: &str) {
    let request = v1::CreateEvidenceRequest {
        parent: demo::FLEET.into(),
        evidence_id: id.into(),
        evidence: Some(v1::Evidence {
            display_name: id.into(),
            kind: v1::EvidenceKind::Test.into(),
            vehicle: demo::name("vehicles/v3"),
            topic: topic.into(),
            result: v1::EvidenceResult::Passed.into(),
            issued_date: date.into(),
            ..Default::default()
        }),
        ..Default::default()
    };
    admin.ask::<v1::Evidence>(request).await.unwrap();
}

async fn fitted_part(admin: &Client, slot: &str) -> (String, String) {
    let request = v1::GetFitmentRequest {
        name: demo::name(&format!("vehicles/v3/fitments/{slot}")),
    };
    let fitment: v1::Fitment = admin.ask(request).await.unwrap();
    (fitment.part, fitment.fitted_date)
}

async fn proof(admin: &Client, vehicle: &str) -> Vec<(v1::Answer, String)> {
    let readiness = demo::readiness(admin).await;
    demo::findings(&readiness, vehicle)
        .into_iter()
        .filter(|(gate, _)| gate.id == "proof")
        .map(|(_, finding)| (finding.answer(), finding.text.clone()))
        .collect()
}

on_both_databases! {
    async fn a_substitution_lives_from_proposal_to_proof(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let name = demo::name("substitutions/s03");
        let get = || v1::GetSubstitutionRequest { name: name.clone() };
        for (refusal, word) in [
            (refused(admin.ask::<v1::Substitution>(approve(&name)).await), "assess it"),
            (refused(admin.ask::<v1::Substitution>(fit(&name, "2027-04-02")).await), "approve it first"),
            (refused(admin.ask::<v1::Substitution>(prove(&name, &["td0"])).await), "is not fitted"),
            (refused(admin.ask::<v1::Substitution>(undo(&name, "")).await), "is not fitted"),
        ] {
            assert_refused(&refusal, "WRONG_STATE", word);
        }
        let kept: v1::Substitution = admin.ask(keep(&name)).await.unwrap();
        assert_eq!(kept.state(), State::Assessed);
        let assessment = kept.kept_assessment.unwrap();
        assert!(!assessment.record_version.is_empty() && !assessment.interfaces.is_empty());
        let approved: v1::Substitution = admin.ask(approve(&name)).await.unwrap();
        assert_eq!((approved.state(), approved.approved_by.as_str()), (State::Approved, "lead"));

        let old = fitted_part(&admin, "spring.rear.left").await;
        let fitted: v1::Substitution = admin.ask(fit(&name, "2027-04-02")).await.unwrap();
        assert_eq!(fitted.state(), State::Fitted);
        assert_eq!(fitted.old_parts_place, "shelf 3, driveline workshop");
        assert_eq!(fitted.outgoing_fitments[0].part, old.0);
        assert_eq!(fitted_part(&admin, "spring.rear.left").await.1, "2027-04-02");
        assert_refused(&refused(admin.ask::<v1::Substitution>(withdraw(&name)).await), "WRONG_STATE", "undo the fitting");

        // The drive before the work proves nothing; the alignment alone is half of it.
        let early = refused(admin.ask::<v1::Substitution>(prove(&name, &["td0"])).await);
        assert_eq!(early.fields(), ["evidence[0]", "evidence"], "{early:?}");
        evidence(&admin, "alignment-v3", "alignment", "2027-04-03").await;
        let half = refused(admin.ask::<v1::Substitution>(prove(&name, &["alignment-v3"])).await);
        assert!(half.message.contains("shakedown"), "{half:?}");
        evidence(&admin, "drive-v3", "shakedown", "2027-04-04").await;
        let proven: v1::Substitution = admin.ask(prove(&name, &["alignment-v3", "drive-v3"])).await.unwrap();
        assert_eq!(proven.state(), State::Proven);

        let undone: v1::Substitution = admin.ask(undo(&name, "2027-04-05")).await.unwrap();
        assert_eq!((undone.state(), undone.proven_by.len()), (State::Approved, 0));
        assert_eq!(fitted_part(&admin, "spring.rear.left").await, (old.0, "2027-04-05".to_owned()));
        let withdrawn: v1::Substitution = admin.ask(withdraw(&name)).await.unwrap();
        assert_eq!(withdrawn.state(), State::Withdrawn);
        assert_refused(&refused(admin.ask::<v1::Substitution>(keep(&name)).await), "WRONG_STATE", "is withdrawn");
        let read: v1::Substitution = admin.ask(get()).await.unwrap();
        assert_eq!(read.state(), State::Withdrawn);
        server.stop().await;
    }

    async fn a_fitting_recorded_by_mistake_leaves_no_trace_in_the_slots(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let name = demo::name("substitutions/s03");
        let old = fitted_part(&admin, "spring.rear.right").await;
        admin.ask::<v1::Substitution>(keep(&name)).await.unwrap();
        admin.ask::<v1::Substitution>(approve(&name)).await.unwrap();
        admin.ask::<v1::Substitution>(fit(&name, "2027-04-02")).await.unwrap();
        admin.ask::<v1::Substitution>(undo(&name, "")).await.unwrap();
        assert_eq!(fitted_part(&admin, "spring.rear.right").await, old);
        server.stop().await;
    }

    async fn a_kept_assessment_shows_what_changed_and_approval_waits_for_it(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let name = demo::name("substitutions/s07");
        admin.ask::<v1::Substitution>(keep(&name)).await.unwrap();
        let note = demo::name("compatibilityNotes/alternator-130-pulley-ribs");
        admin.ask::<()>(v1::DeleteCompatibilityNoteRequest { name: note, ..Default::default() }).await.unwrap();
        let subject = v1::assess_substitution_request::Subject::Name(name.clone());
        let request = v1::AssessSubstitutionRequest { subject: Some(subject), ..Default::default() };
        let fresh: v1::SubstitutionAssessment = admin.ask(request).await.unwrap();
        assert_eq!(fresh.changes.len(), 1, "{:?}", fresh.changes);
        assert_eq!(fresh.changes[0].interface_kind, "pulley_ribs");
        assert!(fresh.changes[0].before.starts_with("bridged") && fresh.changes[0].now.starts_with("clashes"));
        let outdated = refused(admin.ask::<v1::Substitution>(approve(&name)).await);
        assert_refused(&outdated, "ASSESSMENT_OUTDATED", "pulley_ribs");
        admin.ask::<v1::Substitution>(keep(&name)).await.unwrap();
        let open = refused(admin.ask::<v1::Substitution>(approve(&name)).await);
        assert_refused(&open, "NOT_SETTLED", "pulley_ribs: clashes");
        let request = v1::SettleInterfaceRequest {
            name: name.clone(),
            settlement: Some(v1::Settlement {
                slot: "alternator".into(),
                interface_kind: "pulley_ribs".into(),
                how: "counted again".into(),
                settled_by: "auto electrician".into(),
                settled_date: "2027-04-01".into(),
                measured_on_part: Some(v1::Interface {
                    kind: "pulley_ribs".into(),
                    value: Some(v1::interface::Value::Count(5)),
                }),
                ..Default::default()
            }),
            ..Default::default()
        };
        admin.ask::<v1::Substitution>(request).await.unwrap();
        admin.ask::<v1::Substitution>(keep(&name)).await.unwrap();
        let approved: v1::Substitution = admin.ask(approve(&name)).await.unwrap();
        assert_eq!(approved.state(), State::Approved);
        server.stop().await;
    }

    async fn work_after_a_shakedown_makes_exactly_the_right_evidence_stale(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let answers = |proof: &[(v1::Answer, String)]| proof.iter().map(|(answer, _)| *answer).collect::<Vec<_>>();
        let (met, not_met) = (v1::Answer::Met, v1::Answer::NotMet);
        let before = [proof(&admin, "v1").await, proof(&admin, "v3").await, proof(&admin, "v4").await];
        assert_eq!(answers(&before[0]), [met, met], "{before:?}");
        assert_eq!(answers(&before[1]), [not_met, not_met]);
        assert!(before[1].iter().any(|(_, text)| text.contains("`loaded` is not yes")), "{before:?}");
        assert!(before[1].iter().any(|(_, text)| text.contains("WB-1154") && text.contains("tank.auxiliary")));
        assert_eq!(answers(&before[2]), [met, met]);

        // A wheel of the truck after its loaded drive: the drive is stale, the weighing is not touched by equal masses.
        let request = v1::RecordSubstitutionRequest {
            parent: demo::FLEET.into(),
            substitution_id: "s20".into(),
            substitution: Some(v1::Substitution {
                vehicle: demo::name("vehicles/v1"),
                replacements: vec![v1::Replacement {
                    slot: "spring.rear.left".into(),
                    incoming_part: demo::name("parts/coil-rear-heavy-left"),
                    ..Default::default()
                }],
                fitted_date: "2027-04-02".into(),
                ..Default::default()
            }),
            ..Default::default()
        };
        admin.ask::<v1::Substitution>(request).await.unwrap();
        let after = proof(&admin, "v1").await;
        assert_eq!(answers(&after), [not_met, met], "{after:?}");
        assert!(after[0].1.contains("work on spring.rear.left (s20) on 2027-04-02"), "{after:?}");
        assert_eq!([proof(&admin, "v3").await, proof(&admin, "v4").await], before[1..]);
        server.stop().await;
    }
}
