//! The load sheet: what a driver carries, put together from the record and its results.
//!
//! A sheet holds no rule of its own. Loads, gates and verdict are those of [`crate::loads`] and
//! [`crate::readiness`]; here they are laid beside what is aboard, zone by zone.

mod draft;

pub use draft::draft;

use crate::loads::LoadResult;
use crate::readiness::{Gate, Verdict};
use crate::record::{AcceptedCondition, Date, Fluid, Id, Name};

/// Cautions that every sheet carries.
pub const CAUTIONS: [&str; 5] = [
    "A computed sheet is an aid: it replaces neither a weighbridge, an engineer's approval nor local law.",
    "Fuel: keep vapour away from sparks and people, earth containers when filling, use approved containers only.",
    "Never work under a vehicle held by a jack alone; springs store energy under load.",
    "Batteries and welding: isolate, shield, keep flammables away.",
    "Heat: drink before thirst; water aboard is for everyone.",
];

/// The draft of a load sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadSheet {
    /// The departure.
    pub departure: Name,
    /// Name of the departure for people.
    pub departure_display_name: String,
    /// Day of departure.
    pub departure_date: Date,
    /// The vehicle.
    pub vehicle: Name,
    /// Name of the vehicle for people.
    pub vehicle_display_name: String,
    /// Its task in the convoy.
    pub role: String,
    /// Masses and axle loads, one per load state.
    pub loads: Vec<LoadResult>,
    /// What is where; things without a zone come last.
    pub zones: Vec<SheetZone>,
    /// Fuel and water aboard, in the order of the vehicle's tanks.
    pub fills: Vec<SheetFill>,
    /// Who rides in it, drivers first.
    pub crew: Vec<SheetCrew>,
    /// Accepted conditions.
    pub conditions: Vec<SheetCondition>,
    /// Papers to carry.
    pub papers: Vec<SheetPaper>,
    /// Gates that are not plainly met, worst first.
    pub open_gates: Vec<Gate>,
    /// The vehicle's verdict.
    pub verdict: Verdict,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// The contents of one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetZone {
    /// Zone of the vehicle. `None`: things without one.
    pub zone: Option<Id>,
    /// Name for people.
    pub display_name: String,
    /// Its things, heaviest first; those whose mass is not known come first of all.
    pub items: Vec<SheetItem>,
    /// Their mass, kilograms, what is not known left out.
    pub mass_kg: f64,
}

/// A thing carried.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetItem {
    /// The cargo item.
    pub cargo_item: Name,
    /// What it is.
    pub display_name: String,
    /// How many.
    pub quantity: u32,
    /// Mass of all of them, kilograms. `None`: not known.
    pub mass_kg: Option<f64>,
    /// How it is held. Empty: not known.
    pub restraint: String,
    /// What makes it dangerous.
    pub hazard: String,
    /// The crossing must not start without it.
    pub critical: bool,
}

/// A tank and what is in it.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetFill {
    /// Tank of the vehicle.
    pub tank: Id,
    /// Name for people.
    pub display_name: String,
    /// What it holds.
    pub fluid: Fluid,
    /// Litres aboard. `None`: not known.
    pub volume_l: Option<f64>,
    /// Litres that can be drawn. `None`: not known.
    pub usable_l: Option<f64>,
    /// Kilograms, container included where the baseline does not hold it. `None`: not known.
    pub mass_kg: Option<f64>,
}

/// A person aboard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetCrew {
    /// Role.
    pub role: String,
    /// They drive.
    pub driver: bool,
}

/// An accepted condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetCondition {
    /// The record it comes from.
    pub record: Name,
    /// What it is about.
    pub subject: String,
    /// The condition.
    pub condition: AcceptedCondition,
}

/// A paper to carry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetPaper {
    /// The evidence.
    pub evidence: Name,
    /// What it is called.
    pub display_name: String,
    /// Its number.
    pub reference: String,
    /// Last day on which it is valid. `None`: it does not expire.
    pub valid_until_date: Option<Date>,
}
