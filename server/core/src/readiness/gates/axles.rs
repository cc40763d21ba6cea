//! Axles: is each axle within its rating at departure?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build, missing};
use crate::answer::Answer;

/// Axles.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let mut findings: Vec<Finding> = missing(subject).into_iter().collect();
    let load = subject.load;
    for (name, id, axle) in [
        ("front axle", "front_axle", load.front_axle.as_ref()),
        ("rear axle", "rear_axle", load.rear_axle.as_ref()),
    ] {
        findings.push(match axle {
            Some(axle) => subject.finding(name, id, axle),
            None => {
                let text = format!("the load of the {name} is not known");
                let mut finding =
                    Finding::new(Answer::NotKnown, text.clone(), vec![subject.vehicle.name.clone()]);
                finding.missing.push(text);
                finding
            }
        });
    }
    let met = "both axles are within their ratings".to_owned();
    build("axles", "Is each axle within its rating?", findings, met)
}
