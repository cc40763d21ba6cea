//! Masses: are the vehicle, its roof and its zones within their limits at departure?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build, missing};

/// Masses.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let load = subject.load;
    let mut findings: Vec<Finding> = missing(subject).into_iter().collect();
    findings.push(subject.finding("whole vehicle", "total", &load.total));
    findings.push(subject.finding("roof", "roof", &load.roof));
    for zone in &load.zones {
        let name = format!("zone {}", zone.zone);
        let id = format!("zone_{}", zone.zone.replace(['-', '.'], "_"));
        findings.push(subject.finding(&name, &id, &zone.load));
    }
    build(
        "masses",
        "Are the vehicle, its roof and its zones within their limits?",
        findings,
        "the vehicle, its roof and its zones are within their limits".to_owned(),
    )
}
