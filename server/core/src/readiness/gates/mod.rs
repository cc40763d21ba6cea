//! The gates, one file each, and the table that says which are asked.

mod against_limit;
mod axles;
mod defects;
mod masses;
mod regulated;
mod substitutions;

use super::{Finding, Gate, Packs};
use crate::answer::Answer;
use crate::loads;
use crate::record::{Departure, Record, RuleGate, Vehicle};
use against_limit::Subject;

/// The gates of a vehicle.
pub(super) fn vehicle(record: &Record, departure: &Departure, packs: &Packs, vehicle: &Vehicle) -> Vec<Gate> {
    let load = loads::compute(record, departure, vehicle);
    let subject = Subject {
        load: &load,
        vehicle,
        policy: &departure.policy,
    };
    vec![
        substitutions::gate(record, vehicle),
        defects::gate(record, vehicle),
        regulated::gate(record, departure, packs, RuleGate::Rules, Some(vehicle)),
        masses::gate(&subject),
        axles::gate(&subject),
        regulated::gate(record, departure, packs, RuleGate::Papers, Some(vehicle)),
    ]
}

/// The gates of the convoy as a whole.
pub(super) fn convoy(record: &Record, departure: &Departure, packs: &Packs) -> Vec<Gate> {
    vec![
        regulated::gate(record, departure, packs, RuleGate::Rules, None),
        regulated::gate(record, departure, packs, RuleGate::Papers, None),
    ]
}

/// A gate with its findings, worst first. `met` is its summary when nothing stands against it.
pub(super) fn gate(
    id: &'static str,
    display_name: &'static str,
    mut findings: Vec<Finding>,
    met: String,
) -> Gate {
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.answer));
    let answer = findings
        .iter()
        .map(|finding| finding.answer)
        .max()
        .unwrap_or(Answer::Met);
    let summary = match findings
        .iter()
        .filter(|finding| finding.answer == answer)
        .collect::<Vec<_>>()
        .as_slice()
    {
        _ if answer == Answer::Met => met,
        [one] => one.text.clone(),
        [first, rest @ ..] => format!("{}; and {} more", first.text, rest.len()),
        [] => met,
    };
    Gate {
        id,
        display_name,
        answer,
        summary,
        findings,
    }
}

/// What a load is missing, as a finding.
fn missing(subject: &Subject<'_>) -> Option<Finding> {
    let Subject { load, vehicle, .. } = subject;
    let first = load.missing.first()?;
    let text = match load.missing.len() {
        1 => first.clone(),
        count => format!("{first}; and {} more inputs are missing", count - 1),
    };
    let mut finding = Finding::new(Answer::NotKnown, text, vec![vehicle.name.clone()])
        .remedy("record what is missing")
        .basis(load.formula_version);
    finding.missing.clone_from(&load.missing);
    Some(finding)
}
