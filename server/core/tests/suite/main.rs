//! Check values from outside the project and properties, one module per discipline.
//! The source of each value stands beside it, with how it was seen.

mod builder;
mod driveline;
mod electrical;
mod fit;
mod fuel;
mod loads;
mod plan;
mod proof;
mod readiness;
mod restraint;
mod rules;
mod spares;
mod stability;
mod stance;
mod stowage;
mod tanks;
mod tyres;
mod water;
