//! Readiness: the gates of vehicles and convoy put together.
//!
//! A gate is one question; its answer is the worst of its findings. Missing data never reads as ready:
//! an input that is not known makes a finding *not known*, and that stops a "go" as surely as *not met*
//! does. Every finding names the records and numbers it comes from.
//!
//! To add a gate, write it under `gates/` and put it into the table there.

mod clearing;
mod difference;
mod gates;
mod packs;
mod settle;

use rayon::prelude::*;

use crate::answer::Answer;
use crate::loads::ConvoyLoads;
use crate::plan::outlook::PlanOutlook;
use crate::record::{Departure, Name, Record, Vehicle};
use crate::stance::recorded_heights::Diagnoses;
use crate::supplies::Supplies;

pub use clearing::{ClearingJob, FirstStep};
use clearing::{first_steps, name_jobs};
pub use difference::{GateDifference, differences};
use gates::Known;
pub use packs::{NoPack, Packs};
use settle::settle;

/// What a computed verdict is and is not.
pub const CAUTION: &str = "A computed verdict is an aid to the people who sign: it replaces neither a weighbridge, \
     an engineer's approval nor local law.";

/// The gates of a vehicle or a convoy put together. Ordered from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Every gate is met.
    Go,
    /// Every gate is met, some with conditions.
    GoWithConditions,
    /// A gate is not met or not known.
    NoGo,
}

impl Verdict {
    /// The words for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::GoWithConditions => "go with conditions",
            Self::NoGo => "no-go",
        }
    }

    /// The verdict of a worst answer.
    pub fn of(worst: Answer) -> Self {
        match worst {
            Answer::Met => Self::Go,
            Answer::MetWithConditions => Self::GoWithConditions,
            Answer::NotKnown | Answer::NotMet => Self::NoGo,
        }
    }
}

/// The gates of a departure put together.
#[derive(Debug, Clone, PartialEq)]
pub struct Readiness {
    /// The departure.
    pub departure: Name,
    /// The worst of the vehicles' verdicts and the convoy's gates.
    pub verdict: Verdict,
    /// Each vehicle, worst first.
    pub vehicles: Vec<VehicleReadiness>,
    /// Gates of the convoy as a whole, worst first.
    pub gates: Vec<Gate>,
    /// Everything that blocks, in the order in which to see to it.
    pub first_steps: Vec<FirstStep>,
}

/// The gates of one vehicle put together.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleReadiness {
    /// The vehicle.
    pub vehicle: Name,
    /// Name for people.
    pub display_name: String,
    /// The worst of its gates.
    pub verdict: Verdict,
    /// Its gates, worst first.
    pub gates: Vec<Gate>,
}

/// One question of readiness.
#[derive(Debug, Clone, PartialEq)]
pub struct Gate {
    /// Which question.
    pub id: &'static str,
    /// The question for people.
    pub display_name: &'static str,
    /// The worst of its findings; met when there are none.
    pub answer: Answer,
    /// The answer in one sentence.
    pub summary: String,
    /// What the answer comes from, worst first.
    pub findings: Vec<Finding>,
    /// The departure's policy leaves it out of the verdict.
    pub not_binding: bool,
}

/// One thing that an answer comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it means for the gate.
    pub answer: Answer,
    /// What was found.
    pub text: String,
    /// What would clear it. Empty: nothing to do.
    pub remedy: String,
    /// The numbers behind it.
    pub figures: Vec<Figure>,
    /// The records behind it.
    pub records: Vec<Name>,
    /// Inputs that are missing.
    pub missing: Vec<String>,
    /// The formula or the rule pack version it came from.
    pub basis: String,
    /// What tells it from the other findings of its gate while its numbers change. Empty: nothing does.
    pub key: String,
    /// The acceptance under which a condition counts as met.
    pub acceptance: Option<Name>,
    /// Jobs still to do that clear it, by their names.
    pub clearing_jobs: Vec<ClearingJob>,
}

impl Finding {
    /// A finding about `records`, without numbers.
    pub(crate) fn new(answer: Answer, text: impl Into<String>, records: Vec<Name>) -> Self {
        Self {
            answer,
            text: text.into(),
            remedy: String::new(),
            figures: Vec::new(),
            records,
            missing: Vec::new(),
            basis: String::new(),
            key: String::new(),
            acceptance: None,
            clearing_jobs: Vec::new(),
        }
    }

    pub(crate) fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = remedy.into();
        self
    }

    pub(crate) fn basis(mut self, basis: impl Into<String>) -> Self {
        self.basis = basis.into();
        self
    }
}

/// A number of a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it is, its unit last.
    pub id: String,
    /// The value.
    pub value: f64,
    /// The limit it is held against.
    pub limit: Option<f64>,
    /// Combined standard uncertainty of the value.
    pub uncertainty: Option<f64>,
}

/// The readiness of `departure`, or of the vehicle `only` of it, with the `outlook` of its plan
/// ([`PlanOutlook::of`]), which takes long enough that callers may keep it.
///
/// Never fails: what cannot be answered is not known. With `only`, the convoy's gates are still asked,
/// for they hold for every vehicle.
pub fn assess(
    record: &Record,
    departure: &Departure,
    only: Option<&Name>,
    outlook: &PlanOutlook,
) -> Readiness {
    let packs = Packs::of(record, departure);
    assess_by(record, departure, only, outlook, &packs, &Diagnoses::default())
}

/// The same by `packs` that were checked before: proving a pack takes longer than everything else here, so that callers
/// may keep the proof ([`Packs::checked_by`]); and with `diagnoses` of before, which takes the next longest.
pub fn assess_by(
    record: &Record,
    departure: &Departure,
    only: Option<&Name>,
    outlook: &PlanOutlook,
    packs: &Packs,
    diagnoses: &Diagnoses,
) -> Readiness {
    let loads = ConvoyLoads::of(record, departure);
    let supplies = Supplies::of(&loads);
    let known = Known {
        loads: &loads,
        packs,
        supplies: &supplies,
        outlook,
        diagnoses,
    };
    let asked: Vec<&Name> = departure
        .vehicles
        .iter()
        .map(|going| &going.vehicle)
        .filter(|name| only.is_none_or(|only| only == *name))
        .collect();
    let one = |name: &&Name| match record.vehicles.get(*name) {
        Some(vehicle) => assess_vehicle(&known, vehicle),
        None => unknown_vehicle(name),
    };
    // No vehicle needs another's answer: a fleet is asked about on all processors.
    let (mut vehicles, gates): (Vec<VehicleReadiness>, Vec<Gate>) =
        rayon::join(|| asked.par_iter().map(one).collect(), || gates::convoy(&known));
    vehicles.sort_by(|left, right| {
        right
            .verdict
            .cmp(&left.verdict)
            .then_with(|| left.vehicle.cmp(&right.vehicle))
    });
    let gates = name_jobs(record, outlook, settle(record, departure, None, gates));
    let worst_gate = worst_binding(&gates).unwrap_or(Answer::Met);
    let worst_vehicle = vehicles
        .iter()
        .map(|vehicle| vehicle.verdict)
        .max()
        .unwrap_or(Verdict::NoGo);
    Readiness {
        departure: departure.name.clone(),
        verdict: worst_vehicle.max(Verdict::of(worst_gate)),
        first_steps: first_steps(&vehicles, &gates),
        vehicles,
        gates,
    }
}

fn assess_vehicle(known: &Known<'_>, vehicle: &Vehicle) -> VehicleReadiness {
    let ConvoyLoads {
        record, departure, ..
    } = known.loads;
    let gates = gates::vehicle(known, vehicle);
    let gates = settle(record, departure, Some(&vehicle.name), gates);
    let gates = name_jobs(record, known.outlook, gates);
    let worst = worst_binding(&gates).unwrap_or(Answer::NotKnown);
    VehicleReadiness {
        vehicle: vehicle.name.clone(),
        display_name: vehicle.display_name.clone(),
        verdict: Verdict::of(worst),
        gates,
    }
}

fn unknown_vehicle(name: &Name) -> VehicleReadiness {
    let mut finding = Finding::new(
        Answer::NotKnown,
        format!("{name} is not on record"),
        vec![name.clone()],
    );
    finding.missing.push(format!("the vehicle {name}"));
    VehicleReadiness {
        vehicle: name.clone(),
        display_name: String::new(),
        verdict: Verdict::NoGo,
        gates: vec![gates::gate(
            "record",
            "Is the vehicle on record?",
            vec![finding],
            String::new(),
        )],
    }
}

/// The worst answer of the gates that bind.
fn worst_binding(gates: &[Gate]) -> Option<Answer> {
    let binding = gates.iter().filter(|gate| !gate.not_binding);
    binding.map(|gate| gate.answer).max()
}
