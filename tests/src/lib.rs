//! What the tests stand on: a database of their own, of either kind, and the programs to run on it.
//!
//! - [`postgres`]: a private PostgreSQL server, started from the binaries on the machine.
//! - [`databases`]: a fresh database a test, and [`on_both_databases!`], which makes two tests of one.
//! - [`server`]: the real server in this process, on a database.
//! - [`plain_http`]: calls by plain HTTP.
//! - [`client`]: calls of its methods by their request messages, and what a refusal says.
//! - [`process`]: the server and the client as the programs they are; [`cargo`] builds them.
//!
//! Nothing here skips: what is missing on the machine fails with a text that says what to install.

#![expect(
    clippy::panic,
    reason = "a harness that cannot do its work fails the test that asked for it"
)]

pub mod cargo;
pub mod client;
pub mod databases;
pub mod plain_http;
pub mod postgres;
pub mod process;
pub mod server;
