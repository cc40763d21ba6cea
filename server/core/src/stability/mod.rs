//! Height of the centre of mass, static stability factor and rigid-body ceiling angles.
//!
//! - [`pads`]: centre of mass in plan from four wheel pads.
//! - [`axle_lift`]: its height from raised-axle readings.
//! - [`height`]: its height from a list of items or as an estimate, and the common result.
//! - [`recorded`]: a vehicle of the record over a trip.
//! - [`ceiling`]: static stability factor and the angles at which a rigid body would tip. They are
//!   ceilings, never safe slopes, and their type keeps that label with the number.

pub mod axle_lift;
pub mod ceiling;
pub mod height;
pub mod pads;
pub mod recorded;
mod summary;

pub use axle_lift::{AxleLift, AxleLiftHeight, LiftReading, LiftedAxle, Precondition, axle_lift_height};
pub use ceiling::{Ceilings, RigidBodyCeiling, StabilityFactor, Stance, ceilings, static_stability_factor};
pub use height::{CentreOfMassHeight, HeightMethod, ItemHeight, height_by_estimate, height_from_items};
pub use pads::{PadReadings, PlanCentre, plan_centre};
pub use summary::{HeightSource, StabilityInput, StabilitySummary, summary};
