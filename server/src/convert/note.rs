//! Compatibility notes.

use ostler_core::record::{CompatibilityNote, Name, NoteBasis, NoteFinding};
use ostler_proto::v1;

use super::{Converted, id, missing, name as resource_name, optional_date, optional_id, optional_name};

pub(crate) fn compatibility_note(name: Name, message: v1::CompatibilityNote) -> Converted<CompatibilityNote> {
    let v1::CompatibilityNote {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        part,
        other_part,
        vehicle_kind,
        interface_kind,
        finding,
        remedy,
        remedy_mass_kg,
        remedy_hours,
        remedy_lead_days,
        basis,
        found_by,
        found_date,
        note,
    } = message;
    let finding = match v1::NoteFinding::try_from(finding) {
        Ok(v1::NoteFinding::Fits) => NoteFinding::Fits,
        Ok(v1::NoteFinding::FitsWithWork) => NoteFinding::FitsWithWork,
        Ok(v1::NoteFinding::DoesNotFit) => NoteFinding::DoesNotFit,
        Ok(v1::NoteFinding::Caution) => NoteFinding::Caution,
        Ok(v1::NoteFinding::Unspecified) | Err(_) => return Err(missing("finding")),
    };
    let basis = match v1::NoteBasis::try_from(basis) {
        Ok(v1::NoteBasis::Measured) => NoteBasis::Measured,
        Ok(v1::NoteBasis::Heard) => NoteBasis::Heard,
        Ok(v1::NoteBasis::Unspecified) | Err(_) => return Err(missing("basis")),
    };
    Ok(CompatibilityNote {
        name,
        part: resource_name("part", part)?,
        other_part: optional_name("other_part", other_part)?,
        vehicle_kind: optional_id("vehicle_kind", vehicle_kind)?,
        interface_kind: id("interface_kind", interface_kind)?,
        finding,
        remedy,
        remedy_mass_kg,
        remedy_hours,
        remedy_lead_days,
        basis,
        found_by,
        found_date: optional_date("found_date", &found_date)?,
        note,
    })
}
