//! The record of a fleet and every computation made from it.
//!
//! Everything here is a pure function of its arguments: no async, SQL, protocol, serialisation,
//! clock, environment or outside randomness. Time, identifiers and seeds come in as arguments.
//!
//! Units live in names (`mass_kg`, `ride_height_mm`), unit last. Coordinates: x in millimetres aft
//! of the front axle centre, y in millimetres to the right of the centre plane, z in millimetres
//! above ground at reference ride height.

pub mod answer;
pub mod check;
pub mod driveline;
pub mod electrical;
pub mod fit;
pub mod fuel;
pub mod loads;
pub mod plan;
pub mod proof;
pub mod readiness;
pub mod record;
pub mod restraint;
pub mod rules;
pub mod sheet;
pub mod spares;
pub mod stability;
pub mod stance;
pub mod stowage;
pub mod supplies;
pub mod tanks;
pub mod tyres;
pub mod units;
pub mod water;
