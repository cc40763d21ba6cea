//! Substitutions.

use ostler_core::record::{Name, Replacement, Settlement, Substitution, SubstitutionState};
use ostler_proto::v1;

use super::common::interface;
use super::{Converted, Within, each, id, name as resource_name, optional_date, optional_name};

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
