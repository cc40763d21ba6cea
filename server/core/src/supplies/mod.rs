//! Fuel, water and food of a departure, from the record: what the sums of [`fuel`](crate::fuel) and
//! [`water`](crate::water) are fed with, and what they mean for the departure.
//!
//! - `tanks`, `points` and `consumption` read the record once for everybody: the load states draw the
//!   tanks down by the same rules.
//! - [`vehicle_fuel()`] sets what each vehicle has against what it needs, [`convoy_fuel`] lets vehicles share,
//!   [`extra_fuel`] finds the least to carry in addition and what it does to the axles.
//! - [`fuel_answer()`] says what all that means for the gates.
//! - [`water`] sets the water and the food of everybody against what the policy asks.
//!
//! What the record lacks is named; nothing then has numbers.

pub(crate) mod consumption;
pub mod convoy_fuel;
pub mod extra_fuel;
pub mod fuel_answer;
pub(crate) mod points;
pub(crate) mod tanks;
pub mod vehicle_fuel;
pub mod water;

pub use convoy_fuel::{DepartureFuel, IntervalSharing, departure_fuel};
pub(crate) use convoy_fuel::{Sharing, put_together, sharing};
pub use extra_fuel::{ExtraFuel, ExtraLoad};
pub(crate) use extra_fuel::{Planned, Room, extra_loads, least_extra_fuel, room};
pub use fuel_answer::{FuelIssue, fuel_answer, fuel_issues};
pub use vehicle_fuel::{FuelSums, VehicleFuel, vehicle_fuel};
pub use water::{DepartureWater, WaterIssue, WaterSums, departure_water};

/// Version of the formulas of fuel. It changes when a result may change for the same record.
pub const FUEL_FORMULA_VERSION: &str = "fuel/1";

/// What to show with every result about fuel.
pub const FUEL_CAUTION: &str = "A computed sufficiency is no more than the rates it rests on. Fuel vapour burns: \
     move fuel in the open, engines off, earthed, in approved containers, away from flames.";

/// Version of the formulas of water and food. It changes when a result may change for the same record.
pub const WATER_FORMULA_VERSION: &str = "water/1";

/// What to show with every result about water and food.
pub const WATER_CAUTION: &str = "These are quantities to carry, not how much to drink. Heat illness threatens those who \
     drink too little, and drinking far beyond sweat loss is dangerous too.";
