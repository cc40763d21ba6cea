//! Acceptances.

use ostler_core::record::{Acceptance, Name};
use ostler_proto::v1;

use super::defect::accepted_condition;
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
