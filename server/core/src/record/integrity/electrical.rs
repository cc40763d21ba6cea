//! What an electrical system must keep to.

use super::unique;
use crate::check::Check;
use crate::electrical::battery::ChemistryFamily;
use crate::electrical::cable::CONDUCTORS;
use crate::record::ElectricalSystem;

/// Devices and circuits each once, areas that cables are made in, and values that belong to the family of cells.
pub(super) fn check(check: &mut Check, path: &str, system: &ElectricalSystem) {
    let devices = system.devices.iter().map(|device| &*device.id);
    unique(check, &format!("{path}.devices"), devices);
    let circuits = system.circuits.iter().map(|circuit| &*circuit.id);
    unique(check, &format!("{path}.circuits"), circuits);
    for (index, circuit) in system.circuits.iter().enumerate() {
        if !CONDUCTORS.iter().any(|row| row.size_mm2 == circuit.size_mm2) {
            let sizes = CONDUCTORS.map(|row| row.size_mm2.to_string()).join(", ");
            check.refuse(
                format_args!("{path}.circuits[{index}].size_mm2"),
                format!("must be one of {sizes}"),
            );
        }
    }
    if let Some(recorded) = &system.bank {
        let chemistry = &recorded.bank.chemistry;
        if chemistry.family != ChemistryFamily::LeadAcid && chemistry.peukert_exponent.is_some() {
            check.refuse(
                format_args!("{path}.bank.values.peukert_exponent"),
                "must be unset: the discharge-rate law is for lead-acid",
            );
        }
        let rising = |pair: &[crate::electrical::battery::DeratingPoint]| {
            pair[1].temperature_c - pair[0].temperature_c >= 0.01
        };
        if !chemistry.derating.windows(2).all(rising) {
            check.refuse(
                format_args!("{path}.bank.values.derating"),
                "must rise in temperature_c from point to point",
            );
        }
    }
}
