//! The API as a caller meets it: the real server, on SQLite and on PostgreSQL.
//!
//! Each test has a server and a database of its own. The demo fleet is the ground of those that need a whole record, the small
//! fleet of [`fixture`] that of the others.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod acceptances;
mod access;
mod bad_input;
mod bench;
mod cargo_list;
mod changes;
mod conventions;
mod demo;
mod driveline;
mod fixture;
mod fleet_file;
mod fuel;
mod history;
mod http_json;
mod issued_sheets;
mod jobs;
mod life;
mod limits;
mod load_sheets;
mod loads;
mod messages;
mod model;
mod path_to_go;
mod plans;
mod power;
mod readiness;
mod regulated_items;
mod restraint;
mod scope;
mod seals;
mod spares;
mod stance;
mod stowage;
mod substitutions;
mod take_away;
mod tanks;
mod tyres;
mod verdict_over_time;
mod versions;
mod water;
mod writers;
