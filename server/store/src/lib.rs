//! The record on disk, in SQLite or PostgreSQL.
//!
//! # How the record is kept
//! The record is always consumed whole by pure computations, so a resource is one row: identity,
//! scope, revision and references in columns with constraints and foreign keys, the content as a
//! body of bytes that this crate never looks into. A *scope* is what is read whole and counted as
//! one: a fleet (what its vehicles share), a vehicle or a departure. [`Store::load`] reads any
//! number of scopes in one statement, together with the revision of each, so a result computed
//! from them can be kept for as long as those revisions last.
//!
//! # How it is changed
//! One change is one [`Transaction`]: check the revision the caller saw, write, note the references,
//! append the history, keep the answer under the request id, commit. Every scope a transaction
//! touched gets its next revision at commit, whether the caller thinks of it or not. Nothing here
//! changes or removes history; the database refuses it as well.
//!
//! # How the history is sealed
//! After their commit, entries are sealed into a chain of hashes, one for each fleet ([`Store::seal_waiting`]). Which entry comes
//! where in the chain is decided then, by whoever seals, so that writers of one fleet never wait for each other. Positions
//! have no gaps and only grow: who reads the chain forward misses nothing, whenever it was committed.
//!
//! # Two databases, one behaviour
//! One SQL text with `$1` placeholders serves both; what differs is in `db.rs` (connections),
//! `schema.rs` (the lock around migrations) and `error.rs` (error codes). No type of the database
//! library leaves this crate. The same suite runs on both (`tests/store`).
//!
//! | | SQLite | PostgreSQL |
//! |---|---|---|
//! | writers | one at a time, `BEGIN IMMEDIATE` | READ COMMITTED; the revision in the `WHERE` decides |
//! | durable | WAL, `synchronous = FULL` | as the server is configured (`synchronous_commit` is on unless changed) |
//! | text order | bytes | bytes (`COLLATE "C"`) |
//!
//! Times are microseconds since 1970-01-01T00:00:00Z and always come in as arguments.

// Every call is such a future: moved several times, its memory taken anew each time. One of 100 KiB cost more than what it did.
#![warn(clippy::large_futures)]

mod batch;
mod care;
mod chain;
mod db;
mod error;
mod history;
mod location;
mod packed;
mod references;
mod replica;
mod requests;
mod resources;
mod revisions;
mod schema;
mod scopes;
mod seal;
mod sql;
mod store;
mod tokens;
mod transaction;

pub use chain::{Head, Link};
pub use error::{Source, StoreError};
pub use history::{HistoryEntry, HistoryFilter, HistoryQuery, HistorySpan, NewHistory, SealedQuery};
pub use location::{Location, LocationError};
pub use replica::ReplicaReads;
pub use requests::{NewRequest, StoredRequest};
pub use resources::{Change, List, NewRow, Row, Seen};
pub use schema::KNOWN_SCHEMA_VERSION;
pub use scopes::Loaded;
pub use seal::{NOTHING_BEFORE, SEAL_BYTES, seal};
pub use sql::{MAX_KNOWN, MAX_NAMES};
pub use store::Store;
pub use tokens::Token;
pub use transaction::Transaction;
