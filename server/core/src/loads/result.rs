//! What a load computation gives.

use std::sync::Arc;

use crate::answer::Answer;
use crate::record::{Id, MassProvenance, Name, Position};

/// Masses and axle loads of a vehicle at one moment of a departure.
///
/// Nothing is rounded. No number is ever NaN or infinite.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadResult {
    /// The vehicle.
    pub vehicle: Name,
    /// The departure.
    pub departure: Name,
    /// The moment: [`DEPARTURE_STATE`](super::DEPARTURE_STATE), `end of` a leg, or `supply after` it.
    pub load_state: String,
    /// What the computation is missing, in sentences. Not empty: the numbers leave these out and no
    /// answer is better than not known.
    pub missing: Vec<String>,
    /// What a state under way rests on, and what runs out, in sentences. They do not change an answer.
    pub notes: Vec<String>,
    /// Mass of the baseline without fluids, people and cargo, kilograms.
    pub baseline_mass_kg: f64,
    /// Change by parts fitted since, kilograms.
    pub fitment_change_kg: f64,
    /// People, kilograms.
    pub crew_mass_kg: f64,
    /// Fuel with the containers that the baseline does not hold, kilograms.
    pub fuel_mass_kg: f64,
    /// Water with the containers that the baseline does not hold, kilograms.
    pub water_mass_kg: f64,
    /// Cargo, kilograms.
    pub cargo_mass_kg: f64,
    /// Everything, against the gross mass. A mass whose place is not known counts here and not on the
    /// axles.
    pub total: LoadAgainstLimit,
    /// Front axle, against its rating. `None`: the wheelbase or the split of the baseline is not known.
    pub front_axle: Option<LoadAgainstLimit>,
    /// Rear axle, against its rating. `None` as for the front axle.
    pub rear_axle: Option<LoadAgainstLimit>,
    /// Load on the roof without the rack, against the tighter of its limits.
    pub roof: LoadAgainstLimit,
    /// Zones that have a limit, in the order of the specification.
    pub zones: Vec<ZoneLoad>,
    /// Centre of mass aft of the front axle, millimetres.
    pub centre_x_mm: Option<f64>,
    /// Sideways moment of everything that is not part of the baseline, kilogram metres, positive to the
    /// right.
    pub lateral_moment_kgm: f64,
    /// Every mass that entered, largest first; what enters at every moment alike is shared by them.
    pub lines: Vec<Arc<LoadLine>>,
    /// What the loads start from.
    pub baseline: Baseline,
    /// How the numbers were computed: [`FORMULA_VERSION`](super::FORMULA_VERSION).
    pub formula_version: &'static str,
}

/// What a load computation starts from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Baseline {
    /// A weighing, less what was aboard.
    Weighing(Name),
    /// The mass that the maker declares, less what it includes.
    Declared,
    /// Neither is on record.
    Missing,
}

/// A load held against a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadAgainstLimit {
    /// The load, kilograms. An axle load below 0 means that the axle would lift.
    pub load_kg: f64,
    /// Combined standard uncertainty, root sum of squares of the stated tolerances, kilograms.
    pub uncertainty_kg: f64,
    /// The limit, kilograms. `None`: not known.
    pub limit_kg: Option<f64>,
    /// Which limit it is; when it is not known, why.
    pub limit_name: &'static str,
    /// Limit less load, kilograms. `None`: the limit is not known.
    pub margin_kg: Option<f64>,
    /// What that means.
    pub answer: Answer,
    /// Masses without a stated tolerance, which the uncertainty leaves out.
    pub untoleranced_count: u32,
}

/// Load of a zone against its limit.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneLoad {
    /// The zone.
    pub zone: Id,
    /// Its load.
    pub load: LoadAgainstLimit,
}

/// Which part of the whole a mass belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadGroup {
    /// The vehicle as weighed or declared.
    Baseline,
    /// A part changed since.
    Fitment,
    /// A person.
    Crew,
    /// Fuel, or its container.
    Fuel,
    /// Water, or its container.
    Water,
    /// Cargo.
    Cargo,
}

impl LoadGroup {
    /// How many there are.
    pub(super) const COUNT: usize = 6;

    /// Its place among them.
    pub(super) const fn index(self) -> usize {
        match self {
            Self::Baseline => 0,
            Self::Fitment => 1,
            Self::Crew => 2,
            Self::Fuel => 3,
            Self::Water => 4,
            Self::Cargo => 5,
        }
    }
}

/// One mass that entered a load result.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadLine {
    /// What it is.
    pub display_name: Arc<str>,
    /// The record it comes from; for people the departure, for tanks the vehicle.
    pub record: Name,
    /// Which part of the whole it belongs to.
    pub group: LoadGroup,
    /// Kilograms; negative when a lighter part was fitted.
    pub mass_kg: f64,
    /// Where it sits. `None`: not known; of a baseline, also when the readings do not tell the sides.
    pub position: Option<Position>,
    /// Its share on the front axle, kilograms; negative when it lightens it. `None`: not known.
    pub front_axle_kg: Option<f64>,
    /// Its share on the rear axle, kilograms. `None`: not known.
    pub rear_axle_kg: Option<f64>,
    /// How it is known. A fluid, computed from its volume and the fleet's density, counts as estimated.
    pub provenance: MassProvenance,
    /// Standard tolerance of the whole line, kilograms. `None`: not stated.
    pub tolerance_kg: Option<f64>,
}
