//! The gates, one file each, and the table that says which are asked.

mod against_limit;
mod at_rest;
mod axles;
mod defects;
mod fuel;
mod heights;
mod jobs;
mod masses;
mod power;
mod proof;
mod regulated;
mod restraint;
mod schedule;
mod spares_cover;
mod spares_fit;
mod stability;
mod stance;
mod substitutions;
mod tanks;
mod tyres;
mod underside;
mod water;
mod wheels;

use super::{Finding, Gate, Packs};
use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, RuleGate, SupplyGate, Vehicle};
use crate::stance::recorded_heights::Diagnoses;
use crate::supplies::Supplies;
use crate::tyres::convoy::convoy_spares;
use against_limit::Subject;

/// What all gates of a departure are asked by.
pub(super) struct Known<'a> {
    pub(super) loads: &'a ConvoyLoads<'a>,
    pub(super) packs: &'a Packs,
    pub(super) supplies: &'a Supplies,
    pub(super) outlook: &'a PlanOutlook,
    pub(super) diagnoses: &'a Diagnoses,
}

/// The gates of a vehicle.
pub(super) fn vehicle(known: &Known<'_>, vehicle: &Vehicle) -> Vec<Gate> {
    let Known {
        loads,
        packs,
        supplies,
        outlook,
        diagnoses,
    } = known;
    let ConvoyLoads {
        record, departure, ..
    } = loads;
    let states = loads.states(vehicle);
    let subject = Subject {
        loads,
        diagnoses,
        states: &states,
        vehicle,
    };
    let standing = at_rest::Standing::of(&subject);
    vec![
        jobs::gate(record, departure, vehicle, outlook),
        schedule::gate(record, departure, vehicle, outlook),
        substitutions::gate(record, vehicle),
        defects::gate(record, vehicle),
        regulated::gate(loads, packs, RuleGate::Rules, Some(vehicle)),
        masses::gate(&subject),
        axles::gate(&subject),
        restraint::gate(record, departure, vehicle),
        stance::gate(record, vehicle),
        wheels::gate(&subject, &standing),
        underside::gate(&subject, &standing),
        tyres::gate(&subject),
        stability::gate(&subject),
        proof::gate(record, departure, vehicle),
        fuel::gate(departure, &supplies.fuel, vehicle),
        tanks::gate(&subject),
        power::gate(departure, vehicle),
        regulated::gate(loads, packs, RuleGate::Papers, Some(vehicle)),
    ]
}

/// The gates of the convoy as a whole.
pub(super) fn convoy(known: &Known<'_>) -> Vec<Gate> {
    let Known {
        loads,
        packs,
        supplies,
        ..
    } = known;
    let ConvoyLoads {
        record, departure, ..
    } = loads;
    let spares = convoy_spares(loads);
    vec![
        fuel::shared_gate(record, departure, &supplies.fuel),
        water::gate(departure, &supplies.water),
        spares_fit::gate(record, departure, &spares),
        spares_cover::gate(record, departure, &spares),
        regulated::gate(loads, packs, RuleGate::Rules, None),
        regulated::gate(loads, packs, RuleGate::Papers, None),
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
        not_binding: false,
    }
}

/// The one finding of a gate that the policy of the departure leaves out. `None`: it is asked for.
fn not_asked(departure: &Departure, gate: SupplyGate) -> Option<Finding> {
    departure.policy.gates_not_asked.contains(&gate).then(|| {
        let text = "the policy of this departure does not ask about it";
        Finding::new(Answer::Met, text, vec![departure.name.clone()])
    })
}

/// What a departure without crew is missing: a vehicle without its people is lighter, and would read better.
fn crew_missing(departure: &Departure) -> Option<String> {
    let missing = "who goes is not known: the departure names no crew";
    departure.crew.is_empty().then(|| missing.to_owned())
}

/// What the loads are missing: at departure, and besides that under way.
fn missing(subject: &Subject<'_>) -> Vec<Finding> {
    let Some((first, later)) = subject.states.split_first() else {
        return Vec::new();
    };
    let mut at_departure = first.missing.clone();
    if let Some(sentence) = crew_missing(subject.loads.departure) {
        at_departure.insert(0, sentence);
    }
    let mut under_way: Vec<String> = Vec::new();
    if subject.loads.departure.legs.is_empty() {
        under_way.push("the departure has no legs, so the loads under way are not known".to_owned());
    }
    for sentence in later.iter().flat_map(|state| &state.missing) {
        if !first.missing.contains(sentence) && !under_way.contains(sentence) {
            under_way.push(sentence.clone());
        }
    }
    [("", &at_departure), ("under way: ", &under_way)]
        .into_iter()
        .filter_map(|(when, missing)| missing_finding(subject, first.formula_version, when, missing))
        .collect()
}

fn missing_finding(
    subject: &Subject<'_>,
    formula_version: &str,
    when: &str,
    missing: &[String],
) -> Option<Finding> {
    let first = missing.first()?;
    let text = match missing.len() {
        1 => format!("{when}{first}"),
        count => format!("{when}{first}; and {} more inputs are missing", count - 1),
    };
    let records = vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()];
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy("record what is missing")
        .basis(formula_version);
    finding.missing = missing.to_vec();
    Some(finding)
}
