//! Parts that nearly fit: how the parts of a substitution meet their neighbours.
//!
//! [`assess()`] holds what the incoming parts offer, interface by interface, against what the slot's
//! neighbours ask, what the outgoing part had, and what a slot of that kind must have answered. A
//! mismatch is looked up in the compatibility notes of the fleet ([`NoteIndex`]); whatever is stated
//! nowhere is not known and never reads as a match. [`Vocabulary`] says what is known about kinds of
//! interfaces and slots; [`bridge`] finds the cheapest chain of adapters and work over typed values.

mod adapters;
mod assess;
mod bridging;
mod chain;
mod checklists;
mod compare;
mod entailed;
mod kinds;
mod life;
mod notes;
mod requirements;
mod result;
mod search;
mod values;
mod verdict;
mod vocabulary;

pub use adapters::{Bridge, BridgeCost, BridgeOption, CHAIN_MAX, Crossing, Gap, bridge};
pub use assess::{assess, assess_with};
pub use compare::{Match, compare};
pub use life::{AssessmentChange, LifeStep, changes_since, kept_interfaces, state_after, unsettled};
pub use notes::NoteIndex;
pub use result::{
    BridgeChain, BridgeStep, FigureChange, Fit, InterfaceAssessment, JobStage, JobTemplate, MassChange,
    Means, OpenQuestion, Remedy, SlotBridge, SubstitutionAssessment,
};
pub(crate) use search::Serving;
pub use search::{CANDIDATES_MAX, Candidate, parts_for_slot, slots_for_part};
pub use vocabulary::{Checklist, InterfaceKind, ValueType, Vocabulary};
