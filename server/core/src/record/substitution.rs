//! Substitutions.

use super::{Date, Id, Interface, Name};
use crate::fit::Fit;

/// Replacing the parts of one or more slots of a vehicle by different parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Substitution {
    /// Its name.
    pub name: Name,
    /// The vehicle.
    pub vehicle: Name,
    /// The slots and the parts that go into them; at least one, each slot once.
    pub replacements: Vec<Replacement>,
    /// Why.
    pub reason: String,
    /// Where it stands.
    pub state: SubstitutionState,
    /// When the parts went in.
    pub fitted_date: Option<Date>,
    /// Interfaces that were settled.
    pub settlements: Vec<Settlement>,
    /// The substitution that this one takes the place of.
    pub supersedes: Option<Name>,
    /// What the workshop says about it.
    pub note: String,
    /// What its life has left behind so far.
    pub life: SubstitutionLife,
}

/// What the steps of a substitution's life leave behind.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SubstitutionLife {
    /// Who approved it: a role. Empty: nobody yet.
    pub approved_by: String,
    /// When it was approved.
    pub approved_date: Option<Date>,
    /// The evidence that proves it.
    pub proven_by: Vec<Name>,
    /// The assessment that was kept of it.
    pub kept_assessment: Option<KeptAssessment>,
}

/// An assessment as it was when it was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptAssessment {
    /// When it was made.
    pub assessed_date: Option<Date>,
    /// The state of the record that it was made from.
    pub record_version: String,
    /// Every interface of every slot.
    pub interfaces: Vec<KeptInterface>,
}

/// An interface of a kept assessment.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptInterface {
    /// Slot of the vehicle.
    pub slot: Id,
    /// Kind of interface.
    pub interface_kind: Id,
    /// How it fitted.
    pub fit: Fit,
    /// Whether it stood in the way.
    pub blocks: bool,
    /// Value asked for, for people.
    pub required: String,
    /// Value offered, for people.
    pub offered: String,
}

/// One slot and the part that goes into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Replacement {
    /// Slot of the vehicle.
    pub slot: Id,
    /// The part that comes out. `None`: the slot is empty or what is in it is not on record.
    pub outgoing_part: Option<Name>,
    /// The part that goes in.
    pub incoming_part: Name,
}

/// Where a substitution stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SubstitutionState {
    /// Proposed.
    Proposed,
    /// An assessment of it is kept.
    Assessed,
    /// Approved by somebody.
    Approved,
    /// The parts are in.
    Fitted,
    /// The parts are in, and evidence proves them.
    Proven,
    /// Given up, or superseded by another.
    Withdrawn,
}

impl SubstitutionState {
    /// Whether the parts are in.
    pub fn is_in(self) -> bool {
        matches!(self, Self::Fitted | Self::Proven)
    }

    /// Whether the parts are still to go in.
    pub fn is_open(self) -> bool {
        matches!(self, Self::Proposed | Self::Assessed | Self::Approved)
    }

    /// The trade's word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Proposed => "proposed",
            Self::Assessed => "assessed",
            Self::Approved => "approved",
            Self::Fitted => "fitted",
            Self::Proven => "proven",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// An interface of a substitution that was settled: measured, found right, or its remedy done.
#[derive(Debug, Clone, PartialEq)]
pub struct Settlement {
    /// Slot of the vehicle.
    pub slot: Id,
    /// Kind of interface.
    pub interface_kind: Id,
    /// How.
    pub how: String,
    /// Who settled it: a role.
    pub settled_by: String,
    /// When.
    pub settled_date: Option<Date>,
    /// What was measured on the vehicle's side. With either of the two measured values the settlement is a
    /// measurement: the values decide, not the settling.
    pub measured_on_vehicle: Option<Interface>,
    /// What was measured on the part.
    pub measured_on_part: Option<Interface>,
}

impl Settlement {
    /// Whether it states what was measured, rather than that the interface is right or its remedy done.
    pub fn is_measurement(&self) -> bool {
        self.measured_on_vehicle.is_some() || self.measured_on_part.is_some()
    }
}
