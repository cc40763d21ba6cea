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

use super::results::{Input, Inputs};
use super::{Finding, Gate, Packs};
use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, RuleGate, Shared, SupplyGate, Vehicle};
use crate::restraint::Aboard;
use crate::spares::recorded::DepartureSpares;
use crate::stance::standing::Standing;
use crate::supplies::{DepartureFuel, DepartureWater};
use crate::tyres::convoy::ConvoySpares;
use crate::tyres::wheel_loads::WheelLoads;
use against_limit::Subject;
pub(super) use heights::measured_heights;

/// What the gates of a vehicle are asked by.
pub(super) struct VehicleInputs {
    /// The vehicle's own loads, and what of the record concerns it.
    pub(super) own: ConvoyLoads,
    /// Those of all that goes, for the few who look beyond the vehicle.
    pub(super) convoy: ConvoyLoads,
    pub(super) vehicle: Shared<Vehicle>,
    pub(super) packs: Shared<Packs>,
    pub(super) outlook: Shared<PlanOutlook>,
    pub(super) fuel: Shared<DepartureFuel>,
    pub(super) standing: Shared<Standing>,
    pub(super) wheel_loads: Shared<WheelLoads>,
    pub(super) restrained: Shared<Aboard>,
    pub(super) measured_heights: Shared<Vec<Finding>>,
}

impl VehicleInputs {
    fn subject<T>(&self, about: impl FnOnce(&Subject<'_>) -> T) -> T {
        about(&Subject {
            loads: &self.own,
            states: &self.own.states(&self.vehicle),
            vehicle: &self.vehicle,
        })
    }
}

impl Inputs for VehicleInputs {
    type Own = Self;

    fn own(&self) -> Self {
        Self {
            own: self.own.share(),
            convoy: self.convoy.share(),
            vehicle: self.vehicle.share(),
            packs: self.packs.share(),
            outlook: self.outlook.share(),
            fuel: self.fuel.share(),
            standing: self.standing.share(),
            wheel_loads: self.wheel_loads.share(),
            restrained: self.restrained.share(),
            measured_heights: self.measured_heights.share(),
        }
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        let more: [&dyn Input; 8] = [
            &self.vehicle,
            &self.standing,
            &self.measured_heights,
            &self.wheel_loads,
            &self.restrained,
            &self.packs,
            &self.outlook,
            &self.fuel,
        ];
        all.extend(more);
        self.own.list(all);
        self.convoy.list(all);
    }
}

/// What the gates of the convoy are asked by.
pub(super) struct ConvoyInputs {
    pub(super) loads: ConvoyLoads,
    pub(super) packs: Shared<Packs>,
    pub(super) fuel: Shared<DepartureFuel>,
    pub(super) water: Shared<DepartureWater>,
    pub(super) spare_wheels: Shared<ConvoySpares>,
    pub(super) spare_parts: Shared<DepartureSpares>,
}

impl Inputs for ConvoyInputs {
    type Own = Self;

    fn own(&self) -> Self {
        Self {
            loads: self.loads.share(),
            packs: self.packs.share(),
            fuel: self.fuel.share(),
            water: self.water.share(),
            spare_wheels: self.spare_wheels.share(),
            spare_parts: self.spare_parts.share(),
        }
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        all.extend::<[&dyn Input; 5]>([
            &self.packs,
            &self.fuel,
            &self.water,
            &self.spare_wheels,
            &self.spare_parts,
        ]);
        self.loads.list(all);
    }
}

/// A word for a gate, and the gate by its inputs, which are all that it can look at.
type Ask<I> = (&'static str, fn(&I) -> Gate);

/// The gates of a vehicle, each under a word of its own.
pub(super) const VEHICLE_GATES: [Ask<VehicleInputs>; 18] = [
    ("jobs", |of| {
        jobs::gate(&of.own.record, &of.own.departure, &of.vehicle, &of.outlook)
    }),
    ("schedule", |of| {
        schedule::gate(&of.own.record, &of.own.departure, &of.vehicle, &of.outlook)
    }),
    ("substitutions", |of| {
        substitutions::gate(&of.own.record, &of.vehicle)
    }),
    ("defects", |of| defects::gate(&of.own.record, &of.vehicle)),
    ("rules", |of| {
        regulated::gate(&of.own, &of.packs, RuleGate::Rules, Some(&of.vehicle))
    }),
    ("masses", |of| of.subject(masses::gate)),
    ("axles", |of| {
        of.subject(|subject| axles::gate(subject, &of.convoy))
    }),
    ("restraint", |of| {
        restraint::gate(&of.own.departure, &of.vehicle, &of.restrained)
    }),
    ("stance", |of| stance::gate(&of.own.record, &of.vehicle)),
    ("wheels", |of| {
        of.subject(|subject| wheels::gate(subject, &of.standing, &of.measured_heights))
    }),
    ("underside", |of| {
        of.subject(|subject| underside::gate(subject, &of.standing))
    }),
    ("tyres", |of| {
        of.subject(|subject| tyres::gate(subject, &of.wheel_loads))
    }),
    ("stability", |of| of.subject(stability::gate)),
    ("proof", |of| {
        proof::gate(&of.own.record, &of.own.departure, &of.vehicle)
    }),
    ("fuel", |of| fuel::gate(&of.own.departure, &of.fuel, &of.vehicle)),
    ("tanks", |of| of.subject(tanks::gate)),
    ("power", |of| power::gate(&of.own.departure, &of.vehicle)),
    ("papers", |of| {
        regulated::gate(&of.own, &of.packs, RuleGate::Papers, Some(&of.vehicle))
    }),
];

/// The gates of the convoy as a whole, each under a word of its own.
pub(super) const CONVOY_GATES: [Ask<ConvoyInputs>; 6] = [
    ("shared fuel", |of| {
        fuel::shared_gate(&of.loads.record, &of.loads.departure, &of.fuel)
    }),
    ("water", |of| water::gate(&of.loads.departure, &of.water)),
    ("spares fit", |of| {
        spares_fit::gate(&of.loads.record, &of.loads.departure, &of.spare_wheels)
    }),
    ("spares cover", |of| {
        spares_cover::gate(&of.loads.departure, &of.spare_parts)
    }),
    ("rules", |of| {
        regulated::gate(&of.loads, &of.packs, RuleGate::Rules, None)
    }),
    ("papers", |of| {
        regulated::gate(&of.loads, &of.packs, RuleGate::Papers, None)
    }),
];

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
    if let Some(sentence) = crew_missing(&subject.loads.departure) {
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
