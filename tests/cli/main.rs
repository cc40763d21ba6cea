//! The program `ostler` against the program `ostlerd`, on the demo fleet, as a shop uses them.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "the helpers of tests fail by panicking"
)]

mod access;
mod bench;
mod departure;
mod driveline;
mod files;
mod find;
mod kinds;
mod operation;
mod outside;
mod papers;
mod plain_http;
mod shop;
mod tls;
mod traces;
mod verdict;
mod work;
