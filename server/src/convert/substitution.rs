//! Substitutions.

use ostler_core::fit::Fit;
use ostler_core::record::{
    KeptAssessment, KeptInterface, Name, Replacement, Settlement, Substitution, SubstitutionLife,
    SubstitutionState,
};
use ostler_proto::v1;

use super::common::interface;
use super::{Converted, Within, each, id, name as resource_name, names, optional_date, optional_name};

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
        approved_by,
        approved_date,
        proven_by,
        kept_assessment,
        outgoing_fitments: _,
        old_parts_place: _,
    } = message;
    let state = state_of(state);
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
        life: SubstitutionLife {
            approved_by,
            approved_date: optional_date("approved_date", &approved_date)?,
            proven_by: names("proven_by", proven_by)?,
            kept_assessment: kept_assessment.map(kept).transpose().within("kept_assessment")?,
        },
    })
}

/// A state. One that is not stated, as in a request, is that of a proposed substitution.
pub(crate) fn state_of(state: i32) -> SubstitutionState {
    match v1::SubstitutionState::try_from(state) {
        Ok(v1::SubstitutionState::Assessed) => SubstitutionState::Assessed,
        Ok(v1::SubstitutionState::Approved) => SubstitutionState::Approved,
        Ok(v1::SubstitutionState::Fitted) => SubstitutionState::Fitted,
        Ok(v1::SubstitutionState::Proven) => SubstitutionState::Proven,
        Ok(v1::SubstitutionState::Withdrawn) => SubstitutionState::Withdrawn,
        Ok(v1::SubstitutionState::Proposed | v1::SubstitutionState::Unspecified) | Err(_) => {
            SubstitutionState::Proposed
        }
    }
}

/// A state as a message.
pub(crate) fn state_message(state: SubstitutionState) -> v1::SubstitutionState {
    match state {
        SubstitutionState::Proposed => v1::SubstitutionState::Proposed,
        SubstitutionState::Assessed => v1::SubstitutionState::Assessed,
        SubstitutionState::Approved => v1::SubstitutionState::Approved,
        SubstitutionState::Fitted => v1::SubstitutionState::Fitted,
        SubstitutionState::Proven => v1::SubstitutionState::Proven,
        SubstitutionState::Withdrawn => v1::SubstitutionState::Withdrawn,
    }
}

fn kept(message: v1::KeptAssessment) -> Converted<KeptAssessment> {
    let v1::KeptAssessment {
        assessed_date,
        record_version,
        interfaces,
    } = message;
    Ok(KeptAssessment {
        assessed_date: optional_date("assessed_date", &assessed_date)?,
        record_version,
        interfaces: each("interfaces", interfaces, kept_interface)?,
    })
}

fn kept_interface(message: v1::KeptInterface) -> Converted<KeptInterface> {
    let v1::KeptInterface {
        slot,
        interface_kind,
        fit,
        blocks,
        required,
        offered,
    } = message;
    let fit = match v1::Fit::try_from(fit) {
        Ok(v1::Fit::Matches) => Fit::Matches,
        Ok(v1::Fit::Bridged) => Fit::Bridged,
        Ok(v1::Fit::Clashes) => Fit::Clashes,
        Ok(v1::Fit::Unknown | v1::Fit::Unspecified) | Err(_) => Fit::NotKnown,
    };
    Ok(KeptInterface {
        slot: id("slot", slot)?,
        interface_kind: id("interface_kind", interface_kind)?,
        fit,
        blocks,
        required,
        offered,
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
        measured_on_vehicle,
        measured_on_part,
    } = message;
    Ok(Settlement {
        slot: id("slot", slot)?,
        interface_kind: id("interface_kind", interface_kind)?,
        how,
        settled_by,
        settled_date: optional_date("settled_date", &settled_date)?,
        measured_on_vehicle: measured_on_vehicle
            .map(interface)
            .transpose()
            .within("measured_on_vehicle")?,
        measured_on_part: measured_on_part
            .map(interface)
            .transpose()
            .within("measured_on_part")?,
    })
}
