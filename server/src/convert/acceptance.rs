//! Acceptances.

use ostler_core::record::{Acceptance, Name};
use ostler_proto::v1;

use super::defect::{accepted_condition, accepted_condition_message};
use super::{Converted, Within, id, missing, name as resource_name, optional_name};

pub(crate) fn acceptance(name: Name, message: v1::Acceptance) -> Converted<Acceptance> {
    let v1::Acceptance {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        departure,
        vehicle,
        gate,
        finding,
        condition,
        finding_text,
        signed_value,
        signed_limit,
        signed_by,
    } = message;
    let condition = condition.ok_or_else(|| missing("condition"))?;
    Ok(Acceptance {
        name,
        departure: resource_name("departure", departure)?,
        vehicle: optional_name("vehicle", vehicle)?,
        gate: id("gate", gate)?,
        finding,
        condition: accepted_condition(condition).within("condition")?,
        finding_text,
        signed_value,
        signed_limit,
        signed_by,
    })
}

/// An acceptance as a message, without its versions and times.
pub(crate) fn acceptance_message(acceptance: &Acceptance) -> v1::Acceptance {
    v1::Acceptance {
        name: acceptance.name.to_string(),
        departure: acceptance.departure.to_string(),
        vehicle: acceptance
            .vehicle
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        gate: acceptance.gate.to_string(),
        finding: acceptance.finding.clone(),
        condition: Some(accepted_condition_message(acceptance.condition.clone())),
        finding_text: acceptance.finding_text.clone(),
        signed_value: acceptance.signed_value,
        signed_limit: acceptance.signed_limit,
        signed_by: acceptance.signed_by.clone(),
        ..v1::Acceptance::default()
    }
}
