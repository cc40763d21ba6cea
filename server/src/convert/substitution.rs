//! Substitutions.

use ostler_core::fit::{
    FigureChange, Fit, InterfaceAssessment, OpenQuestion, Remedy, SubstitutionAssessment,
};
use ostler_core::record::{Name, Replacement, Settlement, Substitution, SubstitutionState};
use ostler_proto::v1;

use super::{Converted, each, id, name as resource_name, optional_date, optional_name};

/// A substitution. One without a state, as in a request, is a proposed one.
pub(crate) fn substitution(name: Name, message: v1::Substitution) -> Converted<Substitution> {
    let v1::Substitution {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        vehicle,
        replacements,
        reason,
        state,
        fitted_date,
        settlements,
        supersedes,
        note,
    } = message;
    let state = match v1::SubstitutionState::try_from(state) {
        Ok(v1::SubstitutionState::Fitted) => SubstitutionState::Fitted,
        Ok(v1::SubstitutionState::Withdrawn) => SubstitutionState::Withdrawn,
        Ok(v1::SubstitutionState::Proposed | v1::SubstitutionState::Unspecified) | Err(_) => {
            SubstitutionState::Proposed
        }
    };
    Ok(Substitution {
        name,
        vehicle: resource_name("vehicle", vehicle)?,
        replacements: each("replacements", replacements, replacement)?,
        reason,
        state,
        fitted_date: optional_date("fitted_date", &fitted_date)?,
        settlements: each("settlements", settlements, settlement)?,
        supersedes: optional_name("supersedes", supersedes)?,
        note,
    })
}

fn replacement(message: v1::Replacement) -> Converted<Replacement> {
    let v1::Replacement {
        slot,
        outgoing_part,
        incoming_part,
    } = message;
    Ok(Replacement {
        slot: id("slot", slot)?,
        outgoing_part: optional_name("outgoing_part", outgoing_part)?,
        incoming_part: resource_name("incoming_part", incoming_part)?,
    })
}

fn settlement(message: v1::Settlement) -> Converted<Settlement> {
    let v1::Settlement {
        slot,
        interface_kind,
        how,
        settled_by,
        settled_date,
    } = message;
    Ok(Settlement {
        slot: id("slot", slot)?,
        interface_kind: id("interface_kind", interface_kind)?,
        how,
        settled_by,
        settled_date: optional_date("settled_date", &settled_date)?,
    })
}

/// An assessment as a message; `recorded` says whether the substitution has a name worth showing.
pub(crate) fn assessment_message(
    assessment: SubstitutionAssessment,
    recorded: bool,
) -> v1::SubstitutionAssessment {
    let SubstitutionAssessment {
        substitution,
        fit,
        blocks,
        interfaces,
        open_questions,
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
    }
}

fn fit_message(fit: Fit) -> v1::Fit {
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
        note,
        text,
        mass_kg,
        hours,
        lead_days,
    } = remedy;
    v1::Remedy {
        compatibility_note: note.into(),
        text,
        mass_kg,
        hours,
        lead_days,
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
