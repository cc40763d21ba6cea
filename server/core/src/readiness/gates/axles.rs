//! Axles: is each axle within its rating at every moment of the departure?

use super::against_limit::Subject;
use super::{Finding, Gate, gate as build, missing};
use crate::answer::Answer;
use crate::loads::{ConvoyLoads, LimitedLoad, smallest_move};

/// Axles. A move may go to any vehicle of the `convoy`.
pub(super) fn gate(subject: &Subject<'_>, convoy: &ConvoyLoads) -> Gate {
    let mut findings: Vec<Finding> = missing(subject);
    for (name, id, axle) in [
        ("front axle", "front_axle", LimitedLoad::FrontAxle),
        ("rear axle", "rear_axle", LimitedLoad::RearAxle),
    ] {
        let found = subject
            .finding(name, id, &axle)
            .map(|finding| with_smallest_move(subject, convoy, &axle, finding));
        findings.push(found.unwrap_or_else(|| {
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

/// Names the smallest single move that clears an axle over its rating, when there is one.
fn with_smallest_move(
    subject: &Subject<'_>,
    convoy: &ConvoyLoads,
    axle: &LimitedLoad,
    mut finding: Finding,
) -> Finding {
    if finding.answer != Answer::NotMet {
        return finding;
    }
    let Some(found) = smallest_move(convoy, subject.vehicle, axle) else {
        return finding;
    };
    let place = if found.to_vehicle == subject.vehicle.name {
        format!("zone {}", found.to_zone)
    } else {
        format!("{}, zone {}", found.to_vehicle.id(), found.to_zone)
    };
    finding.remedy = format!(
        "the smallest single move that clears it: {} ({}, {:.1} kg) to {place}, {:.0} mm aft of the front \
         axle, which leaves {:.1} kg; restrain it there, then weigh axle by axle",
        found.display_name,
        found.cargo_item.id(),
        found.mass_kg,
        found.to_x_mm,
        found.margin_kg
    );
    finding.records.push(found.cargo_item);
    finding
}
