//! Masses: are the vehicle, its roof and its zones within their limits at departure?

use super::axles::against_limit;
use super::{Finding, Gate, gate as build, missing};
use crate::loads::LoadResult;
use crate::record::Vehicle;

/// Masses.
pub(super) fn gate(load: &LoadResult, vehicle: &Vehicle) -> Gate {
    let mut findings: Vec<Finding> = missing(load, vehicle).into_iter().collect();
    findings.push(against_limit(
        "whole vehicle",
        "total",
        &load.total,
        load,
        vehicle,
    ));
    findings.push(against_limit("roof", "roof", &load.roof, load, vehicle));
    for zone in &load.zones {
        let name = format!("zone {}", zone.zone);
        let id = format!("zone_{}", zone.zone.replace(['-', '.'], "_"));
        findings.push(against_limit(&name, &id, &zone.load, load, vehicle));
    }
    build(
        "masses",
        "Are the vehicle, its roof and its zones within their limits?",
        findings,
        "the vehicle, its roof and its zones are within their limits".to_owned(),
    )
}
