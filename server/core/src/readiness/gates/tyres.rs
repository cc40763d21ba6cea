//! Tyres: do the tyres and wheels carry the vehicle over the whole trip, at the pressures planned?

use super::against_limit::Subject;
use super::at_rest::unknown;
use super::{Gate, crew_missing, gate as build};
use crate::tyres::recorded::FORMULA_VERSION;
use crate::tyres::trip::trip_tyres_with;
use crate::tyres::wheel_loads::WheelLoads;

/// Tyres, by the `loads` of the wheels.
pub(super) fn gate(subject: &Subject<'_>, loads: &WheelLoads) -> Gate {
    let (record, departure) = (&subject.loads.record, &subject.loads.departure);
    let mut findings = trip_tyres_with(record, departure, subject.vehicle, subject.states, loads).findings;
    findings.extend(crew_missing(&subject.loads.departure).map(|sentence| {
        unknown(
            subject,
            sentence.clone(),
            sentence,
            "record who goes, and in which vehicle",
        )
        .basis(FORMULA_VERSION)
    }));
    build(
        "tyres",
        "Do tyres and wheels carry it at the planned pressures?",
        findings,
        "tyres, pressures, rims and studs are enough at every moment".to_owned(),
    )
}
