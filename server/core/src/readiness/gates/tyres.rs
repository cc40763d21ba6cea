//! Tyres: do the tyres and wheels carry the vehicle over the whole trip, at the pressures planned?

use super::against_limit::Subject;
use super::{Gate, gate as build};
use crate::tyres::trip::trip_tyres;

/// Tyres.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let tyres = trip_tyres(subject.record, subject.departure, subject.vehicle, subject.states);
    build(
        "tyres",
        "Do tyres and wheels carry it at the planned pressures?",
        tyres.findings,
        "tyres, pressures, rims and studs are enough at every moment".to_owned(),
    )
}
