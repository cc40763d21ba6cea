//! Axles: is each axle within its rating at every moment of the departure?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build, missing};
use crate::answer::Answer;
use crate::loads::LimitedLoad;

/// Axles.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let mut findings: Vec<Finding> = missing(subject);
    for (name, id, axle) in [
        ("front axle", "front_axle", LimitedLoad::FrontAxle),
        ("rear axle", "rear_axle", LimitedLoad::RearAxle),
    ] {
        findings.push(subject.finding(name, id, &axle).unwrap_or_else(|| {
            let text = format!("the load of the {name} is not known");
            let mut finding =
                Finding::new(Answer::NotKnown, text.clone(), vec![subject.vehicle.name.clone()]);
            finding.missing.push(text);
            finding
        }));
    }
    let met = "both axles are within their ratings at every moment".to_owned();
    build("axles", "Is each axle within its rating?", findings, met)
}
