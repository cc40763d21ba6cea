//! Proof: is what must be proven proven, by evidence that later work has not made stale?

use super::{Finding, gate as build};
use crate::answer::Answer;
use crate::proof::{ProofAnswer, ProofAssessment, ProofPolicy, prove};
use crate::readiness::Gate;
use crate::record::{Departure, Name, Record, Vehicle};

/// Proof.
pub(super) fn gate(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Gate {
    let asked: Vec<_> = departure
        .policy
        .proof_requirements
        .iter()
        .filter(|requirement| requirement.vehicles.is_empty() || requirement.vehicles.contains(&vehicle.name))
        .collect();
    let findings = if departure.policy.proof_requirements.is_empty() {
        vec![nothing_asked(departure)]
    } else {
        let policy = ProofPolicy::of(&departure.policy);
        asked
            .iter()
            .map(|requirement| prove(record, vehicle, requirement, departure.departure_date, policy))
            .map(|proof| finding(departure, vehicle, proof))
            .collect()
    };
    build(
        "proof",
        "Is what must be proven proven, and still true?",
        findings,
        "everything that is asked for is proven".to_owned(),
    )
}

fn nothing_asked(departure: &Departure) -> Finding {
    let text = "the policy of the departure does not say what must be proven".to_owned();
    let mut finding = Finding::new(Answer::NotKnown, text, vec![departure.name.clone()])
        .remedy("state in the policy what must be proven, for example a loaded shakedown");
    finding.missing = vec!["what must be proven before the departure".to_owned()];
    finding
}

fn finding(departure: &Departure, vehicle: &Vehicle, proof: ProofAssessment) -> Finding {
    let ProofAssessment {
        topic,
        answer,
        reason,
        evidence,
        made_stale_by,
        valid_until_date,
        missing,
    } = proof;
    let answer = match answer {
        ProofAnswer::Proven => Answer::Met,
        ProofAnswer::NotKnown => Answer::NotKnown,
        ProofAnswer::NotProven => Answer::NotMet,
    };
    let records: Vec<Name> = match evidence {
        Some(evidence) => std::iter::once(evidence).chain(made_stale_by).collect(),
        None => vec![vehicle.name.clone()],
    };
    let topic = topic.replace(['_', '-'], " ");
    let mut finding = Finding::new(answer, format!("{topic}: {reason}"), records).basis("proof");
    finding.missing = missing;
    match answer {
        Answer::Met => match valid_until_date.filter(|until| *until < departure.return_date) {
            Some(until) => {
                finding.answer = Answer::MetWithConditions;
                finding
                    .text
                    .push_str(&format!("; it expires on {until}, before the return"));
                finding.remedy("renew it before the departure, or accept it")
            }
            None => finding,
        },
        Answer::NotKnown => finding.remedy("record what is missing"),
        _ => finding.remedy(format!("prove it again: {topic}")),
    }
}
