//! The results of an assessment.

use super::adapters::BridgeCost;
use crate::record::{Id, Name};

/// How an interface fits, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// It matches, or was measured and found right.
    Matches,
    /// It is bridged by an adapter, or by work that a note or a settlement describes.
    Bridged,
    /// A value is missing.
    NotKnown,
    /// It clashes.
    Clashes,
}

/// What bridges an interface.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Means {
    /// A part that goes between.
    Adapter(Name),
    /// Work, or a way round, that a compatibility note describes.
    Work(Name),
    /// The outgoing part, which stays in.
    Kept(Name),
}

/// What bridges an interface or goes round it.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The adapter or the note.
    pub means: Means,
    /// The adapter, the work or the way round.
    pub text: String,
    /// Mass that it adds, kilograms.
    pub mass_kg: Option<f64>,
    /// Hours that it takes.
    pub hours: Option<f64>,
    /// Days until what it needs is there.
    pub lead_days: Option<f64>,
}

/// How one interface of one slot fits.
#[derive(Debug, Clone, PartialEq)]
pub struct InterfaceAssessment {
    /// Slot of the vehicle.
    pub slot: Id,
    /// Kind of interface.
    pub interface_kind: Id,
    /// How it fits.
    pub fit: Fit,
    /// It stands in the way: it clashes, is not known, or is essential and its remedy is not done.
    pub blocks: bool,
    /// The vehicle cannot be used safely without it.
    pub essential: bool,
    /// Value asked for, for people. Empty: not known.
    pub required: String,
    /// Value offered, for people. Empty: not known.
    pub offered: String,
    /// Why, in one sentence.
    pub reason: String,
    /// What notes describe to bridge it or go round it; each is an alternative to the others.
    pub remedies: Vec<Remedy>,
    /// A remedy is done.
    pub remedy_done: bool,
    /// Notes that speak about it, contradicting ones side by side, in order of their names.
    pub compatibility_notes: Vec<Name>,
    /// Notes that speak about it contradict each other; the worst of them holds.
    pub notes_disagree: bool,
}

/// One step of a chain: an adapter to put between, or work to do.
#[derive(Debug, Clone, PartialEq)]
pub struct BridgeStep {
    /// The adapter or the note.
    pub means: Means,
    /// What it is.
    pub text: String,
    /// Kinds of interfaces that it changes.
    pub interface_kinds: Vec<Id>,
    /// Mass that it adds, kilograms. `None`: not known.
    pub mass_kg: Option<f64>,
    /// Hours that it takes. `None`: not known.
    pub hours: Option<f64>,
    /// Days until it is there. `None`: not known.
    pub lead_days: Option<f64>,
}

impl BridgeStep {
    /// The step as a remedy of one interface.
    pub(super) fn remedy(&self) -> Remedy {
        Remedy {
            means: self.means.clone(),
            text: self.text.clone(),
            mass_kg: self.mass_kg,
            hours: self.hours,
            lead_days: self.lead_days,
        }
    }
}

/// Adapters and work that bridge a slot together. Without steps nothing needs bridging.
#[derive(Debug, Clone, PartialEq)]
pub struct BridgeChain {
    /// The steps, from the part outwards.
    pub steps: Vec<BridgeStep>,
    /// Mass that they add together, kilograms. `None`: of a step it is not known.
    pub mass_kg: Option<f64>,
    /// Hours that they take together. `None`: of a step they are not known.
    pub hours: Option<f64>,
    /// Days until the last of them is there. `None`: of a step they are not known.
    pub lead_days: Option<f64>,
}

impl Default for BridgeChain {
    fn default() -> Self {
        Self::of(Vec::new())
    }
}

impl BridgeChain {
    /// A chain of `steps`, its totals computed.
    pub(super) fn of(steps: Vec<BridgeStep>) -> Self {
        let sum = |value: fn(&BridgeStep) -> Option<f64>| steps.iter().map(value).sum::<Option<f64>>();
        Self {
            mass_kg: sum(|step| step.mass_kg),
            hours: sum(|step| step.hours),
            lead_days: steps
                .iter()
                .try_fold(0.0, |most: f64, step| Some(most.max(step.lead_days?))),
            steps,
        }
    }
}

impl BridgeChain {
    /// What it counts together, in hours, with the standard weights. `None`: something of it is not known.
    pub fn cost_hours(&self) -> Option<f64> {
        let cost = BridgeCost::default();
        let mass_kg: Option<f64> = self
            .steps
            .iter()
            .map(|step| step.mass_kg.map(|kg| kg.max(0.0)))
            .sum();
        Some(self.hours? + mass_kg? * cost.hours_per_kg + self.lead_days? * cost.hours_per_lead_day)
    }
}

/// How a slot is bridged.
#[derive(Debug, Clone, PartialEq)]
pub struct SlotBridge {
    /// Slot of the vehicle.
    pub slot: Id,
    /// The cheapest chain that bridges everything that can be bridged: hours, mass added and the longest
    /// waiting counted together, steps of which something is not known last. `None`: nothing can be
    /// bridged, or not all of it together.
    pub chain: Option<BridgeChain>,
    /// Kinds of interfaces that nothing on record bridges, in their order.
    pub unbridged: Vec<Id>,
    /// Other chains, each without one step of the cheapest, cheapest first.
    pub alternatives: Vec<BridgeChain>,
}

/// Stage of a build that a piece of work belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobStage {
    /// Strip and inspect.
    StripAndInspect,
    /// Mechanical.
    Mechanical,
    /// Electrical.
    Electrical,
    /// Fit-out.
    FitOut,
    /// Proving.
    Proving,
}

/// A piece of work that follows from a substitution, as a template for a job card.
#[derive(Debug, Clone, PartialEq)]
pub struct JobTemplate {
    /// What to do.
    pub title: String,
    /// Slot of the vehicle. `None`: the vehicle as a whole.
    pub slot: Option<Id>,
    /// Stage it belongs to.
    pub stage: JobStage,
    /// Hours that it takes. `None`: not known.
    pub hours: Option<f64>,
    /// Days until what it needs is there. `None`: not known, or nothing is needed.
    pub lead_days: Option<f64>,
    /// The adapter or the note that it comes from.
    pub source: Option<Name>,
    /// Topic of the evidence that it gives.
    pub evidence_topic: Option<Id>,
}

/// Something to settle before the old part comes out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenQuestion {
    /// Slot of the vehicle.
    pub slot: Id,
    /// Kind of interface.
    pub interface_kind: Id,
    /// The question.
    pub question: String,
    /// How to measure it. Empty: nothing known.
    pub measuring: String,
}

/// Change of the vehicle's mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassChange {
    /// Incoming less outgoing parts, kilograms.
    pub mass_kg: f64,
    /// Combined standard uncertainty: root of the sum of squares of the parts' tolerances. `None`: a
    /// part does not state its tolerance.
    pub uncertainty_kg: Option<f64>,
}

/// A figure that both parts of a slot state and that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureChange {
    /// Slot of the vehicle.
    pub slot: Id,
    /// The figure; its unit is in the name.
    pub figure: Id,
    /// Value of the outgoing part.
    pub outgoing: f64,
    /// Value of the incoming part.
    pub incoming: f64,
}

/// How the parts of a substitution fit and what it entails.
#[derive(Debug, Clone, PartialEq)]
pub struct SubstitutionAssessment {
    /// The substitution.
    pub substitution: Name,
    /// The worst of its interfaces.
    pub fit: Fit,
    /// Something stands in the way of using the vehicle with it.
    pub blocks: bool,
    /// Every interface of every slot, worst first.
    pub interfaces: Vec<InterfaceAssessment>,
    /// What to settle before the old part comes out; a measurement with its taker closes each.
    pub open_questions: Vec<OpenQuestion>,
    /// How each slot is bridged, in the order of the replacements.
    pub bridges: Vec<SlotBridge>,
    /// The work that follows, in the order of doing it.
    pub jobs: Vec<JobTemplate>,
    /// Change of the vehicle's mass by the parts, remedies left out. `None`: not known.
    pub mass_change: Option<MassChange>,
    /// Figures that both the old and the new parts state and that differ.
    pub figure_changes: Vec<FigureChange>,
    /// Regulated items of the vehicle that speak about these slots, in order of their names.
    pub regulated_items: Vec<Name>,
    /// Evidence that the change of parts makes stale, in order of their names.
    pub stale_evidence: Vec<Name>,
    /// What to watch.
    pub cautions: Vec<String>,
}
