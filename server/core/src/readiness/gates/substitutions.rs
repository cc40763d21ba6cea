//! Substitutions: is every part that replaces another one settled?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::fit::{self, Fit, InterfaceAssessment, SubstitutionAssessment};
use crate::record::{Record, Substitution, SubstitutionState, Vehicle};

/// Substitutions.
pub(super) fn gate(record: &Record, vehicle: &Vehicle) -> Gate {
    let own = record.substitutions.values().filter(|substitution| {
        substitution.vehicle == vehicle.name && substitution.state != SubstitutionState::Withdrawn
    });
    let findings = own
        .flat_map(|substitution| findings(record, vehicle, substitution))
        .collect();
    build(
        "substitutions",
        "Is every part that replaces another one settled?",
        findings,
        "no substitution is open".to_owned(),
    )
}

fn findings(record: &Record, vehicle: &Vehicle, substitution: &Substitution) -> Vec<Finding> {
    let assessment = match fit::assess(record, vehicle, substitution) {
        Ok(assessment) => assessment,
        Err(refused) => {
            let text = format!("{}: cannot be assessed: {refused}", title(substitution));
            let mut finding = Finding::new(Answer::NotKnown, text, vec![substitution.name.clone()]);
            finding.missing = refused.violations.iter().map(ToString::to_string).collect();
            return vec![finding];
        }
    };
    let mut findings: Vec<Finding> = assessment
        .interfaces
        .iter()
        .filter(|interface| interface.blocks || interface.fit != Fit::Matches)
        .map(|interface| interface_finding(substitution, &assessment, interface))
        .collect();
    findings.push(state_finding(substitution, &assessment));
    findings
}

fn title(substitution: &Substitution) -> String {
    let id = substitution.name.id().to_uppercase();
    match substitution.replacements.first() {
        Some(first) if substitution.replacements.len() == 1 => format!("{id} ({})", first.slot),
        Some(first) => format!(
            "{id} ({} and {} more)",
            first.slot,
            substitution.replacements.len() - 1
        ),
        None => id,
    }
}

fn interface_finding(
    substitution: &Substitution,
    assessment: &SubstitutionAssessment,
    interface: &InterfaceAssessment,
) -> Finding {
    let answer = match (interface.blocks, interface.fit) {
        (true, Fit::NotKnown) => Answer::NotKnown,
        (true, _) => Answer::NotMet,
        (false, _) if interface.remedy_done => Answer::Met,
        (false, _) => Answer::MetWithConditions,
    };
    let (id, slot, kind) = (
        substitution.name.id().to_uppercase(),
        &interface.slot,
        &interface.interface_kind,
    );
    let text = format!("{id}: {kind} of {slot}: {}", interface.reason);
    let questions = assessment
        .open_questions
        .iter()
        .filter(|open| open.slot == *slot && open.interface_kind == *kind)
        .map(|open| open.question.as_str());
    let remedies: Vec<&str> = interface
        .remedies
        .iter()
        .map(|remedy| remedy.text.as_str())
        .chain(questions)
        .collect();
    let records = std::iter::once(substitution.name.clone())
        .chain(interface.compatibility_notes.iter().cloned())
        .collect();
    let mut finding = Finding::new(answer, text, records).remedy(remedies.join("; or "));
    if interface.fit == Fit::NotKnown {
        finding.missing.push(format!("{kind} of {slot}"));
    }
    finding
}

/// What the state of the substitution itself means, once its interfaces are settled.
fn state_finding(substitution: &Substitution, assessment: &SubstitutionAssessment) -> Finding {
    let records = vec![substitution.name.clone()];
    let (state, title) = (substitution.state, title(substitution));
    let kept = substitution.life.kept_assessment.as_ref();
    let changes = kept.map_or_else(Vec::new, |kept| fit::changes_since(kept, assessment));
    match state {
        _ if state.is_open() && !changes.is_empty() => {
            let first = changes.first().map_or_else(String::new, |change| {
                format!("{}, {}: {}", change.slot, change.interface_kind, change.now)
            });
            let text = format!(
                "{title}: {}, but its kept assessment does not hold any more: {first}",
                state.word()
            );
            Finding::new(Answer::MetWithConditions, text, records).remedy("assess it again and keep that")
        }
        // What stands in its way is said by the findings of its interfaces; this one says what to do.
        _ if state.is_open() && assessment.blocks => Finding::new(
            Answer::MetWithConditions,
            format!("{title}: {}, and something stands in its way", state.word()),
            records,
        )
        .remedy("settle what blocks it, supersede it, or withdraw it"),
        _ if state.is_open() => Finding::new(
            Answer::MetWithConditions,
            format!("{title}: {}, but the part is not in yet", state.word()),
            records,
        )
        .remedy("fit the part, or withdraw the substitution"),
        _ => Finding::new(Answer::Met, format!("{title}: {}", state.word()), records),
    }
}
