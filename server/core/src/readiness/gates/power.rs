//! Electrical power: does the battery last, is nothing overloaded, and are the cables and fuses right?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::electrical::cautions::{CAUTION_BATTERY, CAUTION_CABLE};
use crate::electrical::recorded::{POWER_FORMULA_VERSION, Power, recorded, recorded_input, vehicle_power};
use crate::electrical::recorded_issues::power_issues;
use crate::readiness::Figure;
use crate::record::{Departure, SupplyGate, Vehicle};

const QUESTION: &str = "Does the battery last, and are its circuits right?";

/// Electrical power of one vehicle.
pub(super) fn gate(departure: &Departure, vehicle: &Vehicle) -> Gate {
    if let Some(finding) = super::not_asked(departure, SupplyGate::Power) {
        let summary = finding.text.clone();
        return build("power", QUESTION, vec![finding], summary);
    }
    let power = vehicle_power(departure, vehicle);
    let input = recorded(departure, vehicle).map(|(system, plan)| recorded_input(departure, system, plan));
    let findings: Vec<Finding> = power_issues(input.as_ref(), &power)
        .into_iter()
        .map(|issue| {
            let records = vec![vehicle.name.clone(), departure.name.clone()];
            let caution = if issue.missing.is_empty() {
                format!("{}. {CAUTION_BATTERY} {CAUTION_CABLE}", issue.remedy)
            } else {
                issue.remedy
            };
            let mut finding = Finding::new(issue.answer, issue.text, records)
                .remedy(caution)
                .basis(POWER_FORMULA_VERSION);
            finding.missing = issue.missing;
            finding.figures.extend(issue.figure.map(|figure| Figure {
                id: figure.id.to_owned(),
                value: figure.value,
                limit: Some(figure.limit),
                uncertainty: None,
            }));
            finding
        })
        .chain(met(departure, vehicle, &power))
        .collect();
    build("power", QUESTION, findings, in_words(&power))
}

/// What speaks for it, when the autonomy is known.
fn met(departure: &Departure, vehicle: &Vehicle, power: &Power) -> Option<Finding> {
    power.autonomy?;
    let records = vec![vehicle.name.clone(), departure.name.clone()];
    let mut finding = Finding::new(Answer::Met, in_words(power), records).basis(POWER_FORMULA_VERSION);
    finding.figures = figures(departure, power);
    Some(finding)
}

fn in_words(power: &Power) -> String {
    let (Some(budget), Some(drawn), Some(autonomy)) = (&power.budget, &power.discharge, power.autonomy)
    else {
        return String::new();
    };
    let lasts = autonomy.days.map_or_else(
        || "nothing is drawn".to_owned(),
        |days| format!("{days:.1} days without charging"),
    );
    format!(
        "{:.0} Wh a day of {:.0} Wh usable: {lasts}",
        budget.energy_wh_per_day, drawn.usable_wh
    )
}

fn figures(departure: &Departure, power: &Power) -> Vec<Figure> {
    let days = power.autonomy.and_then(|autonomy| autonomy.days);
    let autonomy = days.map(|value| Figure {
        id: "autonomy_days".to_owned(),
        value,
        limit: departure.policy.power_autonomy_min_days,
        uncertainty: None,
    });
    let energy = power.budget.as_ref().map(|budget| Figure {
        id: "energy_wh_per_day".to_owned(),
        value: budget.energy_wh_per_day,
        limit: None,
        uncertainty: budget.spread_wh_per_day,
    });
    autonomy.into_iter().chain(energy).collect()
}
