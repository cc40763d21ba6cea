//! Wheels, stance and springs: the rigid sprung body on four wheel springs, and what makes it lean.
//!
//! The body is one rigid mass with three movements (heave, pitch, roll). Each wheel carries it
//! through a spring of any non-decreasing characteristic, an optional air helper, a bump stop and
//! a droop limit; each axle may have an anti-roll bar and tyres that yield. A wheel that cannot
//! follow lifts off. Start here:
//!
//! - [`vehicle`]: what a vehicle is for this computation ([`SprungVehicle`]);
//! - [`springs`] and [`rates`]: force characteristics, and rates from dimensions;
//! - [`solve()`]: the state of rest ([`Stance`]), with wheel loads, travel left and stops engaged;
//! - [`heights`] and [`angles`]: heights, lean, rake, clearance, approach, departure, breakover;
//! - [`diagnosis`]: why a vehicle leans, and what to measure next;
//! - [`recorded`]: the sprung vehicle as the record has it;
//! - [`handed`]: handed parts on the wrong side, from the parts record alone.
//!
//! # What the model leaves out
//! - Kinematics are linear: a point of the body moves by `heave + pitch x + roll y`. The error of
//!   an angle is below 0.4 % up to 0.1 rad (5.7 degrees); [`Validity`] flags more.
//! - The motion ratio is constant over the travel, and the body and frame do not twist.
//! - The overturning moment of a leaning body (its weight acting beside the roll axis) enters only
//!   when the height of the roll axis is given; without it a real vehicle leans more than computed.
//!   The like moment in pitch is always left out.
//! - Friction of leaf packs, bushes and dampers is left out: a vehicle should be rolled and bounced
//!   before it is measured (common practice, no source).

pub mod angles;
pub mod diagnosis;
pub mod handed;
pub mod heights;
pub mod rates;
pub mod recorded;
pub mod recorded_heights;
pub mod recorded_underside;
pub mod springs;
pub mod standing;
pub mod vehicle;

mod explanation;
mod hypotheses;
mod model;
mod next_measurement;
mod observables;
mod ranking;
mod result;
mod solve;

pub use next_measurement::{Candidate, Measurement, Prediction};
pub use result::{NoEquilibrium, Stance, StanceError, Validity, WheelContact, WheelStance};
pub use solve::{solve, solve_on_floor};
pub use vehicle::{Axle, AxleKind, SprungMass, SprungVehicle, Wheel, WheelStation};

/// To show wherever a result asks for a vehicle to be lifted or weighed wheel by wheel.
pub const CAUTION_LIFTING: &str = "Lift on level, firm ground with the wheels chocked; never work under \
     a vehicle held by a jack alone: use rated stands.";

/// To show wherever a result asks for a spring to be taken out or exchanged.
pub const CAUTION_SPRING_UNDER_LOAD: &str = "A spring in a vehicle stores enough energy to kill: unload it \
     fully or hold it with a rated compressor, keep brake hoses and dampers from becoming the droop stop, \
     and stay out of its line. Leave it to someone trained.";

/// To show wherever a computed stance is shown.
pub const CAUTION_COMPUTED_STANCE: &str = "Computed for a vehicle at rest: it replaces neither a measurement \
     on level ground nor a check of clearance, brake lines and steering over the full travel.";
