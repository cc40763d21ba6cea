//! Checks of `ostler_core::readiness`. The cases are made up; what they assert follows from the rule
//! that missing data never reads as ready and that the worst finding decides.

#![cfg(test)]

mod audit;
mod crew;
mod defects;
mod fixture;
mod fuel;
mod jobs;
mod loads;
mod missing;
mod power;
mod proof;
mod recorded_facts;
mod restraint;
mod rules;
mod spares;
mod stability;
mod stance;
mod substitutions;
mod tanks;
mod tyre_fixture;
mod tyres;
mod underside;
mod verdicts;
mod water;
mod wheels;
