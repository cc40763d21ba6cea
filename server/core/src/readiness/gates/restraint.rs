//! Restraint: is every cargo item held forward as the policy asks?
//!
//! The recorded forward capacity of an item, in newtons, against the policy's multiple of its weight. Only
//! the forward direction is recorded, and only for cargo: the other directions, and containers of fuel and
//! water, are not judged here.

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::loads::CONFIDENCE_DEVIATIONS;
use crate::readiness::Figure;
use crate::record::{CargoItem, Departure, Record, Vehicle};
use crate::restraint::capacity::RECORD_CAUTION;
use crate::restraint::{FORMULA_VERSION, GRAVITY_M_PER_S2, forward_capacity};

/// Most items that a finding about missing data names.
const NAMED_MAX: usize = 4;

/// Restraint.
pub(super) fn gate(record: &Record, departure: &Departure, vehicle: &Vehicle) -> Gate {
    let aboard: Vec<&CargoItem> = record
        .cargo_items
        .values()
        .filter(|item| item.vehicle.as_ref() == Some(&vehicle.name))
        .collect();
    let findings = match departure.policy.restraint_forward_g {
        Some(forward_g) => held(&aboard, departure, forward_g),
        None if aboard.is_empty() => Vec::new(),
        None => vec![no_policy(departure)],
    };
    let met = match (aboard.len(), departure.policy.restraint_forward_g) {
        (0, _) | (_, None) => "no cargo is aboard".to_owned(),
        (count, Some(forward_g)) => {
            format!("each of the {count} cargo items is held forward at {forward_g} times its weight")
        }
    };
    build(
        "restraint",
        "Is every cargo item held as the policy asks?",
        findings,
        met,
    )
}

fn no_policy(departure: &Departure) -> Finding {
    let text = "how strongly cargo must be held forward is not known";
    let mut finding = Finding::new(Answer::NotKnown, text, vec![departure.name.clone()])
        .remedy("set restraint_forward_g in the policy of the departure")
        .basis(FORMULA_VERSION);
    finding
        .missing
        .push("the policy's restraint_forward_g".to_owned());
    finding
}

fn held(aboard: &[&CargoItem], departure: &Departure, forward_g: f64) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut unknown: Vec<(&CargoItem, String)> = Vec::new();
    for item in aboard {
        match judge(item, departure, forward_g) {
            Ok(finding) => findings.extend(finding),
            Err(missing) => unknown.push((*item, missing)),
        }
    }
    findings.extend(not_known(&unknown));
    findings
}

/// What is wrong with how an item is held, if anything; else what is missing to tell.
fn judge(item: &CargoItem, departure: &Departure, forward_g: f64) -> Result<Option<Finding>, String> {
    let id = item.name.id();
    let mass = item.unit_mass.ok_or_else(|| format!("{id}: its mass"))?;
    let capacity_n = item
        .restraint
        .as_ref()
        .and_then(|restraint| restraint.capacity_forward_n)
        .ok_or_else(|| format!("{id}: what holds it forward, newtons"))?;
    let capacity_kgf = capacity_n / GRAVITY_M_PER_S2;
    let held = forward_capacity(item.quantity, mass.mass_kg, Some(capacity_kgf), forward_g)
        .map_err(|refused| format!("{id}: {refused}"))?;
    let required_n = held.required_kgf * GRAVITY_M_PER_S2;
    let shortfall_n = held.shortfall_kgf.unwrap_or(f64::INFINITY) * GRAVITY_M_PER_S2;
    // All pieces of an item share the error of their unit mass.
    let uncertainty_n = mass
        .tolerance_kg
        .map(|tolerance_kg| tolerance_kg * f64::from(item.quantity) * forward_g * GRAVITY_M_PER_S2);
    let deviations = departure
        .policy
        .confidence_deviations
        .unwrap_or(CONFIDENCE_DEVIATIONS);
    let spare_n = capacity_n - required_n;
    let in_doubt = spare_n < deviations * uncertainty_n.unwrap_or(0.0);
    let title = format!("{} ({id})", item.display_name);
    let asks = format!("{forward_g} times its weight asks for {required_n:.0} N");
    let (answer, text) = if shortfall_n > 0.0 {
        let text =
            format!("{title} is held forward by {capacity_n:.0} N and {asks}: {shortfall_n:.0} N short");
        (Answer::NotMet, text)
    } else if in_doubt {
        let text = format!(
            "{title} is held forward by {capacity_n:.0} N and {asks}, which is closer than its mass is known"
        );
        (Answer::MetWithConditions, text)
    } else {
        return Ok(None);
    };
    let mut finding = Finding::new(answer, text, vec![item.name.clone()])
        .remedy(format!(
            "hold it by something rated for {required_n:.0} N or more, or leave it behind. {RECORD_CAUTION}"
        ))
        .basis(FORMULA_VERSION);
    finding.figures = vec![
        Figure {
            id: "restraint_required_n".to_owned(),
            value: required_n,
            limit: Some(capacity_n),
            uncertainty: uncertainty_n,
        },
        Figure {
            id: "restraint_spare_n".to_owned(),
            value: spare_n,
            limit: None,
            uncertainty: uncertainty_n,
        },
    ];
    Ok(Some(finding))
}

/// One finding for all items of which something is missing.
fn not_known(unknown: &[(&CargoItem, String)]) -> Option<Finding> {
    if unknown.is_empty() {
        return None;
    }
    let named: Vec<String> = unknown
        .iter()
        .take(NAMED_MAX)
        .map(|(item, _)| format!("{} ({})", item.display_name, item.name.id()))
        .collect();
    let more = match unknown.len().saturating_sub(NAMED_MAX) {
        0 => String::new(),
        count => format!(" and {count} more"),
    };
    let text = format!(
        "how {} of the cargo items are held is not known: {}{more}",
        unknown.len(),
        named.join(", ")
    );
    let records = unknown.iter().map(|(item, _)| item.name.clone()).collect();
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy("record the mass of each and what its restraint holds in the forward direction")
        .basis(FORMULA_VERSION);
    finding.missing = unknown.iter().map(|(_, missing)| missing.clone()).collect();
    Some(finding)
}
