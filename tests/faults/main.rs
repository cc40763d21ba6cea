//! What goes wrong around a server, and what must hold all the same: it is killed, asked to stop,
//! given a database or a folder that it cannot use.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "the helpers of tests fail by panicking"
)]

mod abandoned;
mod compose;
mod databases;
mod kills;
mod record;
mod refusals;
mod stops;
mod upgrades;
mod writes;
