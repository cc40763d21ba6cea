//! Check values from outside the project and properties, one module per discipline.
//! The source of each value stands beside it, with how it was seen.

mod builder;
mod driveline;
mod electrical;
mod fuel;
mod loads;
mod plan;
mod restraint;
mod spares;
mod stability;
mod stance;
mod tanks;
mod tyres;
mod water;
