//! Masses and axle loads: the vehicle as weighed, what was changed on it since, and what it carries.
//!
//! Everything is added up about the axles. With wheelbase `L`, a mass `m` at `x` aft of the front axle
//! puts `m x / L` on the rear axle and the rest on the front axle, so a mass behind the rear axle
//! lightens the front (statics; own derivation, checked against a published towing-weight example).
//!
//! Uncertainty is the root sum of squares of the stated tolerances, each with its lever: errors of
//! different masses are taken as independent, those of the pieces of one cargo item as common. A mass
//! without a stated tolerance adds nothing to it and is counted instead.
//!
//! What is missing is never taken as zero in silence: it is said, the numbers leave it out, and no
//! answer then is better than not known.
//!
//! Under way, fluids are drawn down leg by leg and what is consumed shrinks: [`states()`] gives every
//! moment of a departure and states its model, [`worst()`] names the moment at which each limit is tightest.
//!
//! A computed load is an aid: it does not replace a weighbridge.

mod aboard;
mod baseline;
mod before_cargo;
mod carried;
mod convoy;
mod fitments;
mod fluids;
mod limits;
mod moment;
mod moves;
mod reconcile;
mod result;
mod states;
mod supplies;
mod tally;
mod worst;

pub use carried::{Carried, carried_when_weighed, unloaded};
pub use convoy::ConvoyLoads;
pub(crate) use convoy::KnownLoads;
pub use limits::CONFIDENCE_DEVIATIONS;
pub(crate) use limits::loaded_roof_limit_kg;
pub(crate) use moves::place_of;
pub use moves::{CargoMove, smallest_move};
pub use reconcile::{
    Difference, RECONCILIATION_FORMULA_VERSION, Reconciliation, UnexplainedCentre, reconcile,
};
pub use result::{Baseline, LoadAgainstLimit, LoadGroup, LoadLine, LoadResult, ZoneLoad};
pub(crate) use states::consumed_shares_left;
pub use states::states;
pub(crate) use states::{states_in_sums, states_of};
pub use worst::{LimitedLoad, WorstLoad, worst, worst_of};

use crate::record::{Departure, Record, Vehicle};
use aboard::Cargo;
pub(crate) use before_cargo::BeforeCargo;
use before_cargo::Detail;

/// Version of the formulas of this module. It changes when a result may change for the same record, by more than the order in which
/// a sum is added up.
pub const FORMULA_VERSION: &str = "loads/2";

/// The load state at the moment of departure.
pub const DEPARTURE_STATE: &str = "departure";

/// What to show with every load result.
pub const CAUTION: &str = "A computed load is an aid: it does not replace a weighbridge.";

/// Masses and axle loads of `vehicle` at the moment of `departure`.
///
/// All of `record`'s cargo that is on the vehicle counts, with the departure's people and fills.
/// Numbers that cannot be computed with (not finite, absurdly large, negative masses) are missing.
pub fn compute(record: &Record, departure: &Departure, vehicle: &Vehicle) -> LoadResult {
    let cargo = Cargo::on(record, vehicle, Detail::Lines);
    BeforeCargo::at_departure(record, departure, vehicle).laden_at_departure(&cargo, departure, vehicle)
}
