//! Axles: is each axle within its rating at departure?

use super::{Finding, Gate, gate as build, missing};
use crate::answer::Answer;
use crate::loads::{LoadAgainstLimit, LoadResult};
use crate::readiness::Figure;
use crate::record::Vehicle;

/// Axles.
pub(super) fn gate(load: &LoadResult, vehicle: &Vehicle) -> Gate {
    let mut findings: Vec<Finding> = missing(load, vehicle).into_iter().collect();
    for (name, id, axle) in [
        ("front axle", "front_axle", load.front_axle.as_ref()),
        ("rear axle", "rear_axle", load.rear_axle.as_ref()),
    ] {
        findings.push(match axle {
            Some(axle) => against_limit(name, id, axle, load, vehicle),
            None => {
                let text = format!("the load of the {name} is not known");
                let mut finding = Finding::new(Answer::NotKnown, text.clone(), vec![vehicle.name.clone()]);
                finding.missing.push(text);
                finding
            }
        });
    }
    build(
        "axles",
        "Is each axle within its rating?",
        findings,
        "both axles are within their ratings".to_owned(),
    )
}

/// A load held against a limit, as a finding.
pub(super) fn against_limit(
    name: &str,
    id: &str,
    load: &LoadAgainstLimit,
    result: &LoadResult,
    vehicle: &Vehicle,
) -> Finding {
    let (load_kg, limit_name) = (load.load_kg, &load.limit_name);
    let tolerance = 2.0 * load.uncertainty_kg;
    let (text, remedy) = match (load.answer, load.margin_kg, load.limit_kg) {
        (_, Some(margin_kg), Some(limit_kg)) if margin_kg < 0.0 => (
            format!(
                "the {name} carries {load_kg:.1} kg, {:.1} kg over the {limit_name} of {limit_kg:.0} kg",
                -margin_kg
            ),
            "move load to the other axle, to another vehicle, or leave it behind; then weigh".to_owned(),
        ),
        (Answer::NotMet, _, _) => (
            format!("the {name} carries {load_kg:.1} kg: it would lift"),
            "move load".to_owned(),
        ),
        (Answer::MetWithConditions, Some(margin_kg), Some(limit_kg)) => (
            format!(
                "the {name} carries {load_kg:.1} kg, only {margin_kg:.1} kg below the {limit_name} of {limit_kg:.0} kg \
                 (known to ±{tolerance:.0} kg)"
            ),
            "weigh the loaded vehicle axle by axle before departure".to_owned(),
        ),
        (_, Some(margin_kg), Some(limit_kg)) => (
            format!(
                "the {name} carries {load_kg:.1} kg, {margin_kg:.1} kg below the {limit_name} of {limit_kg:.0} kg"
            ),
            String::new(),
        ),
        _ => (
            format!("the {name} carries {load_kg:.1} kg; its limit is not known: {limit_name}"),
            "record the limit".to_owned(),
        ),
    };
    let mut finding = Finding::new(load.answer, text, records(result, vehicle))
        .remedy(remedy)
        .basis(result.formula_version);
    if load.limit_kg.is_none() {
        finding.missing.push(format!("limit of the {name}: {limit_name}"));
    }
    finding.figures.push(Figure {
        id: format!("{id}_load_kg"),
        value: load_kg,
        limit: load.limit_kg,
        uncertainty: Some(load.uncertainty_kg),
    });
    if let Some(margin_kg) = load.margin_kg {
        finding.figures.push(Figure {
            id: format!("{id}_margin_kg"),
            value: margin_kg,
            limit: None,
            uncertainty: Some(load.uncertainty_kg),
        });
    }
    finding
}

fn records(result: &LoadResult, vehicle: &Vehicle) -> Vec<crate::record::Name> {
    let mut records = vec![vehicle.name.clone()];
    if let crate::loads::Baseline::Weighing(weighing) = &result.baseline {
        records.push(weighing.clone());
    }
    records
}
