//! How parts meet their neighbours: values, notes, settlements, and the demonstration's substitutions.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "functions shared by tests stop a test that cannot go on"
)]

mod adapters;
mod assess;
mod bridging;
mod compare;
mod demo;
mod demo_fleet;
mod entailed;
pub(crate) mod fixture;
mod life;
mod search;
