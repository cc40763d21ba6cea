//! The load sheet: what a driver carries, put together from the record and its results.
//!
//! A sheet holds no rule of its own. Loads, gates and verdict are those of [`crate::loads`] and
//! [`crate::readiness`]; here they are laid beside what is aboard, zone by zone.

mod aboard;
mod conditions;
mod draft;

pub use draft::draft;

use crate::answer::Answer;
use crate::loads::LoadResult;
use crate::readiness::{Gate, Verdict};
use crate::record::{AcceptedCondition, Date, Fluid, Id, Leg, Name, Position};
use crate::tyres::trip::AxleTyres;

/// Cautions that every sheet carries.
pub const CAUTIONS: [&str; 6] = [
    "A computed sheet is an aid: it replaces neither a weighbridge, an engineer's approval nor local law.",
    "Fuel: keep vapour away from sparks and people, earth containers when filling, use approved containers only.",
    "Never work under a vehicle held by a jack alone; springs store energy under load.",
    "Batteries and welding: isolate, shield, keep flammables away.",
    "Check every lashing after the first kilometres and at every stop: corrugations let straps go slack (common practice).",
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
    /// Last day of the trip.
    pub return_date: Date,
    /// The way, in order.
    pub legs: Vec<Leg>,
    /// The vehicle.
    pub vehicle: Name,
    /// Name of the vehicle for people.
    pub vehicle_display_name: String,
    /// Its task in the convoy.
    pub role: String,
    /// Masses and axle loads, one per load state.
    pub loads: Vec<LoadResult>,
    /// Loads of the wheels, one per load state.
    pub wheels: Vec<SheetWheels>,
    /// Tyre loads, capacities and pressures: front, rear.
    pub tyres: [AxleTyres; 2],
    /// Where the wheels stand.
    pub outline: SheetOutline,
    /// What is where; things without a zone come last.
    pub zones: Vec<SheetZone>,
    /// Fuel and water aboard, in the order in which the tanks are emptied.
    pub fills: Vec<SheetFill>,
    /// Who rides in it, drivers first.
    pub crew: Vec<SheetCrew>,
    /// Accepted conditions: of defects, and signed for gates.
    pub conditions: Vec<SheetCondition>,
    /// Papers to carry.
    pub papers: Vec<SheetPaper>,
    /// Gates that are not plainly met, worst first.
    pub open_gates: Vec<Gate>,
    /// Gates of the convoy that are not plainly met, worst first.
    pub convoy_gates: Vec<Gate>,
    /// The vehicle's verdict.
    pub verdict: Verdict,
    /// The verdict of the departure.
    pub departure_verdict: Verdict,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// Loads of the four wheels at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetWheels {
    /// The moment.
    pub load_state: String,
    /// The loads come from the vehicle on its springs; otherwise each is half of its axle.
    pub from_stance: bool,
    /// Front left, front right, rear left, rear right, kilograms. `None`: not known.
    pub loads_kg: [Option<f64>; 4],
}

/// Where the wheels of a vehicle stand. What is `None` is not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetOutline {
    /// Distance of the axles, millimetres.
    pub wheelbase_mm: Option<f64>,
    /// Distance of the front wheels, millimetres.
    pub front_track_mm: Option<f64>,
    /// Distance of the rear wheels, millimetres.
    pub rear_track_mm: Option<f64>,
    /// Tyres that share the load of each end of the front and of the rear axle.
    pub tyres_at_an_end: [u32; 2],
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
    /// Centre of the zone. `None`: not known.
    pub position: Option<Position>,
    /// Most that it may hold, kilograms. `None`: none is stated.
    pub limit_kg: Option<f64>,
    /// It is on the roof.
    pub on_roof: bool,
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
    /// Whether it is held as the departure asks.
    pub held: Answer,
    /// It is used up under way.
    pub consumed: bool,
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
    /// Its turn among the tanks of its fluid: 1 is emptied first.
    pub drawdown: u32,
    /// Litres that it takes.
    pub capacity_l: f64,
    /// Centre of the tank.
    pub position: Position,
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
    /// The gate it was signed for. `None`: it is that of a defect.
    pub gate: Option<Id>,
    /// It is one of the convoy.
    pub of_convoy: bool,
    /// Name of the token whose holder signed. Empty: it is that of a defect.
    pub signed_by: String,
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
    /// Whether it is valid to the last day of the trip.
    pub valid: Answer,
}
