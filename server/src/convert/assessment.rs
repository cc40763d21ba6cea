//! Assessments of substitutions.

use ostler_core::fit::{
    AssessmentChange, BridgeChain, BridgeStep, Candidate, FigureChange, Fit, InterfaceAssessment, JobStage,
    JobTemplate, Means, OpenQuestion, Remedy, SlotBridge, SubstitutionAssessment, kept_interfaces,
};
use ostler_core::record::{Id, KeptInterface};
use ostler_proto::v1;

/// An assessment as a message; `recorded` says whether the substitution has a name worth showing.
pub(crate) fn assessment_message(
    assessment: SubstitutionAssessment,
    recorded: bool,
    record_version: String,
    changes: Vec<AssessmentChange>,
) -> v1::SubstitutionAssessment {
    let SubstitutionAssessment {
        substitution,
        fit,
        blocks,
        interfaces,
        open_questions,
        bridges,
        jobs,
        mass_change,
        figure_changes,
        regulated_items,
        stale_evidence,
        cautions,
    } = assessment;
    v1::SubstitutionAssessment {
        substitution: if recorded {
            substitution.into()
        } else {
            String::new()
        },
        fit: fit_message(fit).into(),
        blocks,
        interfaces: interfaces.into_iter().map(interface_message).collect(),
        open_questions: open_questions.into_iter().map(question_message).collect(),
        mass_change_kg: mass_change.map(|change| change.mass_kg),
        mass_change_uncertainty_kg: mass_change.and_then(|change| change.uncertainty_kg),
        figure_changes: figure_changes.into_iter().map(figure_message).collect(),
        regulated_items: regulated_items.into_iter().map(String::from).collect(),
        stale_evidence: stale_evidence.into_iter().map(String::from).collect(),
        cautions,
        bridges: bridges.into_iter().map(bridge_message).collect(),
        jobs: jobs.into_iter().map(job_message).collect(),
        record_version,
        changes: changes.into_iter().map(change_message).collect(),
    }
}

fn change_message(change: AssessmentChange) -> v1::AssessmentChange {
    let AssessmentChange {
        slot,
        interface_kind,
        before,
        now,
    } = change;
    v1::AssessmentChange {
        slot: slot.into(),
        interface_kind: interface_kind.into(),
        before,
        now,
    }
}

/// An assessment in the form that is kept.
pub(crate) fn kept_message(
    assessment: &SubstitutionAssessment,
    assessed_date: String,
    record_version: String,
) -> v1::KeptAssessment {
    let interfaces = kept_interfaces(assessment).into_iter().map(|kept| {
        let KeptInterface {
            slot,
            interface_kind,
            fit,
            blocks,
            required,
            offered,
        } = kept;
        v1::KeptInterface {
            slot: slot.into(),
            interface_kind: interface_kind.into(),
            fit: fit_message(fit).into(),
            blocks,
            required,
            offered,
        }
    });
    v1::KeptAssessment {
        assessed_date,
        record_version,
        interfaces: interfaces.collect(),
    }
}

pub(super) fn fit_message(fit: Fit) -> v1::Fit {
    match fit {
        Fit::Matches => v1::Fit::Matches,
        Fit::Bridged => v1::Fit::Bridged,
        Fit::NotKnown => v1::Fit::Unknown,
        Fit::Clashes => v1::Fit::Clashes,
    }
}

fn interface_message(interface: InterfaceAssessment) -> v1::InterfaceAssessment {
    let InterfaceAssessment {
        slot,
        interface_kind,
        fit,
        blocks,
        essential,
        required,
        offered,
        reason,
        remedies,
        remedy_done,
        compatibility_notes,
        notes_disagree,
    } = interface;
    v1::InterfaceAssessment {
        slot: slot.into(),
        interface_kind: interface_kind.into(),
        fit: fit_message(fit).into(),
        blocks,
        essential,
        required,
        offered,
        reason,
        remedies: remedies.into_iter().map(remedy_message).collect(),
        remedy_done,
        compatibility_notes: compatibility_notes.into_iter().map(String::from).collect(),
        notes_disagree,
    }
}

fn remedy_message(remedy: Remedy) -> v1::Remedy {
    let Remedy {
        means,
        text,
        mass_kg,
        hours,
        lead_days,
    } = remedy;
    let mut message = v1::Remedy {
        text,
        mass_kg,
        hours,
        lead_days,
        ..v1::Remedy::default()
    };
    match means {
        Means::Work(note) => message.compatibility_note = note.into(),
        Means::Adapter(part) => message.adapter = part.into(),
        Means::Kept(part) => message.kept_part = part.into(),
    }
    message
}

fn bridge_message(bridge: SlotBridge) -> v1::SlotBridge {
    let SlotBridge {
        slot,
        chain,
        unbridged,
        alternatives,
    } = bridge;
    v1::SlotBridge {
        slot: slot.into(),
        chain: chain.map(chain_message),
        unbridged: unbridged.into_iter().map(String::from).collect(),
        alternatives: alternatives.into_iter().map(chain_message).collect(),
    }
}

pub(crate) fn chain_message(chain: BridgeChain) -> v1::BridgeChain {
    let BridgeChain {
        steps,
        mass_kg,
        hours,
        lead_days,
    } = chain;
    v1::BridgeChain {
        steps: steps.into_iter().map(step_message).collect(),
        mass_kg,
        hours,
        lead_days,
    }
}

fn step_message(step: BridgeStep) -> v1::BridgeStep {
    let BridgeStep {
        means,
        text,
        interface_kinds,
        mass_kg,
        hours,
        lead_days,
    } = step;
    v1::BridgeStep {
        remedy: Some(remedy_message(Remedy {
            means,
            text,
            mass_kg,
            hours,
            lead_days,
        })),
        interface_kinds: interface_kinds.into_iter().map(String::from).collect(),
    }
}

fn job_message(job: JobTemplate) -> v1::JobTemplate {
    let JobTemplate {
        title,
        slot,
        stage,
        hours,
        lead_days,
        source,
        evidence_topic,
    } = job;
    let stage = match stage {
        JobStage::StripAndInspect => v1::JobStage::StripAndInspect,
        JobStage::Mechanical => v1::JobStage::Mechanical,
        JobStage::Electrical => v1::JobStage::Electrical,
        JobStage::FitOut => v1::JobStage::FitOut,
        JobStage::Proving => v1::JobStage::Proving,
    };
    v1::JobTemplate {
        title,
        slot: slot.map(String::from).unwrap_or_default(),
        stage: stage.into(),
        hours,
        lead_days,
        source: source.map(String::from).unwrap_or_default(),
        evidence_topic: evidence_topic.map(String::from).unwrap_or_default(),
    }
}

fn question_message(question: OpenQuestion) -> v1::OpenQuestion {
    let OpenQuestion {
        slot,
        interface_kind,
        question,
        measuring,
    } = question;
    v1::OpenQuestion {
        slot: slot.into(),
        interface_kind: interface_kind.into(),
        question,
        measuring,
    }
}

fn figure_message(change: FigureChange) -> v1::FigureChange {
    let FigureChange {
        slot,
        figure,
        outgoing,
        incoming,
    } = change;
    v1::FigureChange {
        slot: slot.into(),
        figure: figure.into(),
        outgoing,
        incoming,
    }
}

/// A candidate of a search as a message.
pub(crate) fn candidate_message(candidate: Candidate) -> v1::FitCandidate {
    let Candidate {
        part,
        vehicle,
        slot,
        fitted,
        fit,
        clashing,
        not_known,
        to_bridge,
        chain,
    } = candidate;
    let texts = |kinds: Vec<Id>| kinds.into_iter().map(String::from).collect();
    v1::FitCandidate {
        part: part.into(),
        vehicle: vehicle.into(),
        slot: slot.into(),
        fitted,
        fit: fit_message(fit).into(),
        clashing: texts(clashing),
        not_known: texts(not_known),
        to_bridge: texts(to_bridge),
        chain: chain.map(chain_message),
    }
}
