//! What is found about planned pressures: each against what the load needs, and reduced ones with their speed.

use std::collections::BTreeSet;

use super::pressure::{MODEL_CAUTION, PressureNeed};
use super::recorded::{AtWheel, capacity_of};
use super::reduced::REDUCED_PRESSURE_CAUTION;
use super::trip::{Asked, AxleTyres, need};
use crate::answer::Answer;
use crate::readiness::{Figure, Finding};
use crate::record::TyrePressure;
use crate::stance::vehicle::AxlePosition;

/// The plan of pressures: every surface of the legs in it, every pressure enough or reduced on purpose.
pub(super) fn pressures(
    asked: &Asked<'_>,
    axles: &[AxleTyres; 2],
    wheels: &[AtWheel<'_>; 4],
) -> Vec<Finding> {
    let Some(going) = asked.going.filter(|going| !going.tyre_pressures.is_empty()) else {
        return vec![asked.unknown(
            "planned pressures (tyre_pressures of the departure's vehicle)",
            Vec::new(),
        )];
    };
    let mut findings = Vec::new();
    findings.extend(uncovered(asked, &going.tyre_pressures));
    findings.extend(unknown_need(asked, axles, wheels));
    findings.extend(overloaded_table(asked, axles, wheels));
    let (reduced, full): (Vec<_>, Vec<_>) = going.tyre_pressures.iter().partition(|step| step.reduced);
    for axle in axles {
        findings.extend(full.iter().filter_map(|step| enough(asked, axle, step)));
        findings.extend(above_rated(asked, axle, wheels, &going.tyre_pressures));
    }
    findings.extend(reduced_steps(asked, axles, &reduced));
    findings
}

/// Surfaces of the legs for which no pressure is planned.
fn uncovered(asked: &Asked<'_>, plan: &[TyrePressure]) -> Option<Finding> {
    let planned: BTreeSet<&str> = plan
        .iter()
        .flat_map(|step| &step.surfaces)
        .map(|surface| &**surface)
        .collect();
    let driven: BTreeSet<&str> = asked
        .departure
        .legs
        .iter()
        .flat_map(|leg| &leg.surface_km)
        .filter(|(_, km)| **km > 0.0)
        .map(|(surface, _)| &**surface)
        .collect();
    let lacking: Vec<&str> = driven.difference(&planned).copied().collect();
    (!lacking.is_empty())
        .then(|| asked.unknown(format!("planned pressures on {}", lacking.join(", ")), Vec::new()))
}

/// What is missing to know the needed pressure of an axle of which load and capacity are known.
fn unknown_need(asked: &Asked<'_>, axles: &[AxleTyres; 2], wheels: &[AtWheel<'_>; 4]) -> Vec<Finding> {
    let mut missing: Vec<String> = Vec::new();
    if asked.policy.load_exponent.is_none() {
        missing.push("the policy's tyres.load_exponent".to_owned());
    }
    for end in wheels {
        let Some((tyre, marking)) = end.tyre.and_then(|tyre| Some((tyre, tyre.tyre.as_ref()?))) else {
            continue;
        };
        let sentence = format!("the rated pressure of {}", tyre.display_name);
        if marking.rated_pressure_kpa.is_none() && !missing.contains(&sentence) {
            missing.push(sentence);
        }
    }
    if missing.is_empty() {
        // Whatever else could stop the computation must not read as enough pressure.
        for (axle, load) in axles.iter().filter_map(|axle| Some((axle, axle.load.as_ref()?))) {
            let ends = wheels.iter().filter(|end| end.wheel.axle() == axle.axle);
            let stuck = ends
                .filter(|end| {
                    end.tyre
                        .is_some_and(|tyre| capacity_of(tyre, end.fitting).is_ok())
                })
                .any(|end| end.marking().is_some() && need(asked, end, load).is_none());
            if stuck {
                missing.push(format!("the pressure that the {} axle needs", axle.axle.words()));
            }
        }
    }
    missing
        .into_iter()
        .map(|missing| asked.unknown(missing, Vec::new()))
        .collect()
}

/// A load that is within the load index but above the maker's table.
fn overloaded_table(asked: &Asked<'_>, axles: &[AxleTyres; 2], wheels: &[AtWheel<'_>; 4]) -> Option<Finding> {
    let (axle, end, load) = axles.iter().find_map(|axle| {
        let load = axle.load.as_ref()?;
        let within = axle
            .capacity_kg
            .is_some_and(|capacity_kg| load.load_kg <= capacity_kg);
        let end = wheels
            .iter()
            .filter(|end| end.wheel.axle() == axle.axle)
            .find(|end| matches!(need(asked, end, load), Some(PressureNeed::Overloaded { .. })))?;
        within.then_some((axle, end, load))
    })?;
    let text = format!(
        "{} tyres: {:.0} kg on one is above the tyre maker's table",
        axle.axle.words(),
        load.load_kg
    );
    Some(
        asked
            .finding(Answer::NotMet, text, end.records())
            .remedy("take load off this axle, or fit tyres that carry it"),
    )
}

fn words(step: &TyrePressure) -> String {
    let surfaces: Vec<&str> = step.surfaces.iter().map(|surface| &**surface).collect();
    surfaces.join(", ")
}

fn figure(axle: &AxleTyres, step: &TyrePressure) -> Figure {
    Figure {
        id: format!("{}_{}_kpa", axle.axle.words(), words(step).replace(", ", "_")),
        value: axle.planned_kpa(step),
        limit: axle.needed_kpa,
        uncertainty: None,
    }
}

/// A pressure that is meant to carry the load.
fn enough(asked: &Asked<'_>, axle: &AxleTyres, step: &TyrePressure) -> Option<Finding> {
    let needed_kpa = axle.needed_kpa?;
    let planned_kpa = axle.planned_kpa(step);
    let on_placard_kpa = asked
        .vehicle
        .specification
        .tyre_placard
        .and_then(|placard| match axle.axle {
            AxlePosition::Front => placard.front_kpa,
            AxlePosition::Rear => placard.rear_kpa,
        });
    let head = format!(
        "{} tyres on {}: {planned_kpa:.0} kPa planned",
        axle.axle.words(),
        words(step)
    );
    let (answer, text, remedy) = if planned_kpa < needed_kpa {
        (
            Answer::NotMet,
            format!("{head}, the load needs {needed_kpa:.0} kPa"),
            format!(
                "plan {needed_kpa:.0} kPa or more, or mark it as reduced with its speed. {MODEL_CAUTION}"
            ),
        )
    } else if let Some(placard_kpa) = on_placard_kpa.filter(|placard_kpa| planned_kpa < *placard_kpa) {
        (
            Answer::MetWithConditions,
            format!("{head}, below the placard's {placard_kpa:.0} kPa; the load needs {needed_kpa:.0} kPa"),
            "plan the placard's pressure, or mark it as reduced with its speed".to_owned(),
        )
    } else {
        (
            Answer::Met,
            format!("{head}, the load needs {needed_kpa:.0} kPa. {MODEL_CAUTION}"),
            String::new(),
        )
    };
    let mut finding = asked.finding(answer, text, Vec::new()).remedy(remedy);
    finding.figures.push(figure(axle, step));
    Some(finding)
}

/// The highest planned pressure, where it is above the one at which the load index holds.
fn above_rated(
    asked: &Asked<'_>,
    axle: &AxleTyres,
    wheels: &[AtWheel<'_>; 4],
    plan: &[TyrePressure],
) -> Option<Finding> {
    let planned_kpa = plan.iter().map(|step| axle.planned_kpa(step)).reduce(f64::max)?;
    let end = wheels
        .iter()
        .filter(|end| end.wheel.axle() == axle.axle)
        .find(|end| {
            let rated_kpa = end.marking().and_then(|marking| marking.rated_pressure_kpa);
            rated_kpa.is_some_and(|rated_kpa| planned_kpa > rated_kpa)
        })?;
    let rated_kpa = end.marking()?.rated_pressure_kpa?;
    let text = format!(
        "{} tyres: {planned_kpa:.0} kPa planned, above the {rated_kpa:.0} kPa at which their load index holds",
        axle.axle.words()
    );
    Some(
        asked
            .finding(Answer::MetWithConditions, text, end.records())
            .remedy("check the tyre maker's highest pressure; more pressure carries no more load"),
    )
}

/// The reduced pressures together: one condition with the speed of each.
fn reduced_steps(asked: &Asked<'_>, axles: &[AxleTyres; 2], steps: &[&TyrePressure]) -> Option<Finding> {
    let mut parts = Vec::new();
    let mut figures = Vec::new();
    for step in steps {
        let short: Vec<&AxleTyres> = axles
            .iter()
            .filter(|axle| {
                axle.below_needed_kpa(step)
                    .is_some_and(|below_kpa| below_kpa > 0.0)
            })
            .collect();
        if short.is_empty() {
            continue;
        }
        let needs: Vec<String> = short
            .iter()
            .filter_map(|axle| {
                let needed_kpa = axle.needed_kpa?;
                let planned_kpa = axle.planned_kpa(step);
                Some(format!(
                    "{} {planned_kpa:.0} of {needed_kpa:.0} kPa needed",
                    axle.axle.words()
                ))
            })
            .collect();
        parts.push(format!(
            "{}: {}, at most {:.0} km/h",
            words(step),
            needs.join(", "),
            step.speed_max_km_per_h
        ));
        figures.extend(short.iter().map(|axle| figure(axle, step)));
    }
    if parts.is_empty() {
        return None;
    }
    // What is left of the pressure most reduced comes first: a signature holds while it is no worse.
    let share = |figure: &Figure| figure.value / figure.limit.unwrap_or(figure.value).max(f64::MIN_POSITIVE);
    figures.sort_by(|one, other| share(one).total_cmp(&share(other)));
    let text = format!("reduced pressures as planned: {}", parts.join("; "));
    let mut finding = asked
        .finding(Answer::MetWithConditions, text, Vec::new())
        .remedy(format!("{REDUCED_PRESSURE_CAUTION} {MODEL_CAUTION}"));
    finding.figures = figures;
    Some(finding)
}
