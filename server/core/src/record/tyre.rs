//! Tyres and wheels, beside the interfaces of the parts.

use super::{Id, Name};
use crate::tyres::wheel_fit::Tube;
use crate::tyres::{Designation, MakerTable};

/// A tyre by its marking. A measured diameter is the part's interface `overall_diameter`.
#[derive(Debug, Clone, PartialEq)]
pub struct TyreMarking {
    /// What is written on the sidewall.
    pub designation: Designation,
    /// Cold pressure at which its load index holds, kilopascals. `None`: not known.
    pub rated_pressure_kpa: Option<f64>,
    /// The tube it is fitted with. `None`: not known.
    pub tube: Option<Tube>,
    /// The tyre maker's table for one tyre at each end of the axle. `None`: none is on record.
    pub pressure_table: Option<MakerTable>,
}

/// What a wheel has beside its interfaces and figures.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelData {
    /// The rim holds air by itself. `None`: not known.
    pub airtight: Option<bool>,
    /// Offset of the hub face from the rim's middle, millimetres, positive outwards. `None`: not known.
    pub offset_mm: Option<f64>,
}

/// The tyre that a vehicle's placard names.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TyrePlacard {
    /// Its designation.
    pub designation: Designation,
    /// Its diameter, millimetres. `None`: the nominal one, where the designation gives it.
    pub diameter_mm: Option<f64>,
    /// Cold pressure at the front axle, kilopascals. `None`: not on the placard.
    pub front_kpa: Option<f64>,
    /// Cold pressure at the rear axle, kilopascals. `None`: not on the placard.
    pub rear_kpa: Option<f64>,
}

/// Pressures planned for some surfaces.
#[derive(Debug, Clone, PartialEq)]
pub struct TyrePressure {
    /// The surfaces.
    pub surfaces: Vec<Id>,
    /// Cold pressure of the front tyres, kilopascals.
    pub front_kpa: f64,
    /// Cold pressure of the rear tyres, kilopascals.
    pub rear_kpa: f64,
    /// Highest speed planned on these surfaces, km/h.
    pub speed_max_km_per_h: f64,
    /// The pressure is meant to be below what the load needs, at that speed at most.
    pub reduced: bool,
}

/// What the lead asks of tyres and wheels. What is `None` is not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TyrePolicy {
    /// Exponent of load over pressure, as a declared choice, 0.1 to 1.
    pub load_exponent: Option<f64>,
    /// Most change of diameter against the placard, per cent, either way.
    pub diameter_change_max_percent: Option<f64>,
    /// Difference of diameter up to which tyres count as alike, per cent.
    pub diameter_difference_max_percent: Option<f64>,
    /// Difference up to which a spare may still serve in emergency, per cent.
    pub diameter_difference_emergency_percent: Option<f64>,
    /// Clearance of a wheel's bore over the hub up to which the hub still centres it, millimetres.
    pub hub_clearance_max_mm: Option<f64>,
    /// Fewest stud diameters of thread engagement.
    pub stud_engagement_min_diameters: Option<f64>,
    /// Most difference of offset between a spare and the wheels fitted, millimetres.
    pub offset_difference_max_mm: Option<f64>,
}

/// A spare wheel, or part of one, that a cargo item is. One of the two at least.
#[derive(Debug, Clone, PartialEq)]
pub struct SpareWheel {
    /// The wheel. `None`: a tyre without a rim.
    pub wheel_part: Option<Name>,
    /// The tyre. `None`: a rim without a tyre.
    pub tyre_part: Option<Name>,
}
