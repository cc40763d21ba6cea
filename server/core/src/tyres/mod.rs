//! Tyres and wheels: designations, capacities, pressures, and which wheel fits where.
//!
//! - [`designation`]: what is written on a sidewall, parsed and printed back.
//! - [`service`]: load index and speed symbol tables, capacity for single and dual fitting.
//! - [`size`]: nominal diameter and section, and what a change of diameter does to the speedometer.
//! - [`pressure`]: pressure and load by a declared model; [`maker_table`]: by the maker's table;
//!   [`reduced`]: the speed that goes with a reduced pressure.
//! - [`thread`], [`wheel_fit`]: studs, nut seats, engagement, tube or tubeless on a rim.
//! - [`mod@interchange`]: which spare serves which vehicle of a convoy.
//! - [`recorded`], [`wheel_loads`], [`trip`], [`convoy`]: the same from the record, for a vehicle and a convoy over a trip.
//!
//! Every function takes plain numbers, so each also serves on its own at the bench. A computed
//! pressure or capacity is an aid: the tyre maker's own table and the vehicle's placard stand above it.

mod axle_findings;
pub mod bench;
pub mod convoy;
mod cursor;
pub mod designation;
pub mod interchange;
mod interchange_points;
pub mod maker_table;
mod parse;
pub mod pressure;
mod pressure_findings;
pub mod recorded;
pub mod reduced;
pub mod service;
pub mod size;
pub mod thread;
pub mod trip;
mod tyre_findings;
pub mod wheel_fit;
pub mod wheel_loads;

pub use cursor::DesignationError;
pub use designation::{Construction, Designation, Hundredths, ServiceDescription, Size, TubeMark, TyreClass};
pub use interchange::{Interchange, InterchangePolicy, Outcome, Spare, WheelEnd, interchange};
pub use maker_table::MakerTable;
pub use pressure::{LoadModel, PressureNeed, RatedLoad, needed_pressure};
pub use service::{Fitting, SpeedSymbol, load_index_capacity_kg};
pub use thread::{BoltCircle, StudThread};
pub use wheel_fit::{NutSeat, stud_engagement};
