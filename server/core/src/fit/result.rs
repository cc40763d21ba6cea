//! The results of an assessment.

use crate::record::{Id, Name};

/// How an interface fits, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// It matches, or was measured and found right.
    Matches,
    /// It is bridged by work that a note or a settlement describes.
    Bridged,
    /// A value is missing.
    NotKnown,
    /// It clashes.
    Clashes,
}

/// Work that a compatibility note describes.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The note.
    pub note: Name,
    /// The work or the way round.
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
    /// What to settle before the old part comes out.
    pub open_questions: Vec<OpenQuestion>,
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
