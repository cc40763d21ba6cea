//! Masses: are the vehicle, its roof and its zones within their limits at every moment of the departure?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build, missing};
use crate::loads::LimitedLoad;

/// Masses.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let mut findings: Vec<Finding> = missing(subject);
    findings.extend(subject.finding("whole vehicle", "total", &LimitedLoad::Total));
    findings.extend(subject.finding("roof", "roof", &LimitedLoad::Roof));
    let zones = subject.states.first().map(|state| state.zones.as_slice());
    for zone in zones.unwrap_or_default() {
        let name = format!("zone {}", zone.zone);
        let id = format!("zone_{}", zone.zone.replace(['-', '.'], "_"));
        findings.extend(subject.finding(&name, &id, &LimitedLoad::Zone(zone.zone.clone())));
    }
    build(
        "masses",
        "Are the vehicle, its roof and its zones within their limits?",
        findings,
        "the vehicle, its roof and its zones are within their limits at every moment".to_owned(),
    )
}
