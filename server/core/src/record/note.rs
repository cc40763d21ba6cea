//! Compatibility notes.

use super::{Date, Id, Name};

/// A finding about two parts, or a part and a kind of vehicle, at one interface.
#[derive(Debug, Clone, PartialEq)]
pub struct CompatibilityNote {
    /// Its name.
    pub name: Name,
    /// The part the finding is about.
    pub part: Name,
    /// The part it meets or replaces.
    pub other_part: Option<Name>,
    /// The kind of vehicle it goes into.
    pub vehicle_kind: Option<Id>,
    /// The kind of interface.
    pub interface_kind: Id,
    /// The finding.
    pub finding: NoteFinding,
    /// The work or the way round.
    pub remedy: String,
    /// Mass that the remedy adds, kilograms; negative when it saves.
    pub remedy_mass_kg: Option<f64>,
    /// Hours that the remedy takes.
    pub remedy_hours: Option<f64>,
    /// Days until what the remedy needs is there.
    pub remedy_lead_days: Option<f64>,
    /// Measured or heard.
    pub basis: NoteBasis,
    /// Who found it: a role.
    pub found_by: String,
    /// When.
    pub found_date: Option<Date>,
    /// Anything worth knowing.
    pub note: String,
}

/// What was found at an interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteFinding {
    /// They fit as they are.
    Fits,
    /// They fit with the work noted.
    FitsWithWork,
    /// They do not fit; the remedy, if any, is another part.
    DoesNotFit,
    /// They fit, with something to watch.
    Caution,
}

/// How a finding is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteBasis {
    /// Measured or tried by the one who found it.
    Measured,
    /// Heard or read.
    Heard,
}
