//! The store, held to the same behaviour on SQLite and on PostgreSQL.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod concurrency;
mod ends;
mod failures;
mod history;
mod limits;
mod model;
mod plain_map;
mod plans;
mod references;
mod requests;
mod resources;
mod rows;
mod schema;
mod scopes;
mod seals;
mod standby;
mod tokens;
mod transactions;
