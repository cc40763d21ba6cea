//! Rules that nearly apply: what a rule pack makes of a regulated item, and what that demands.
//!
//! A pack declares typed facts and, for each topic, categories with a condition over the facts, written
//! in the Common Expression Language. [`check_pack`] reads a pack once and refuses it with all its
//! faults; a [`CheckedPack`] gives exactly one category for every set of facts. [`classify()`] says which
//! one when facts are missing, or that it is undetermined and on which facts that depends;
//! [`smallest_changes`] says which facts to change to reach the other categories; [`assess_item`] holds
//! the evidence against what the category demands.
//!
//! Conditions are lowered from the expression's syntax tree to yes-or-no facts, texts compared with
//! written-out texts, and sums of numbers compared with constants. That part of the language can be
//! decided exactly, without running anything, in bounded time and memory.
//!
//! A result is an aid: it replaces neither the text of the law nor an engineer's approval.

mod change;
mod check;
mod classify;
mod demand;
mod evidence;
mod fault;
mod formula;
mod lower;
mod pack;
mod recorded;
mod source;
mod space;
mod used;

pub use change::{CategoryChange, FactChange, smallest_changes};
pub use check::check_pack;
pub use classify::{Classification, classify};
pub use demand::{DemandAnswer, DemandAssessment, ItemAssessment, MissingFact, TravelDates, assess_item};
pub use fault::{InvalidPack, PackFault, Position};
pub use pack::{CheckedPack, CheckedTopic};
pub use recorded::{RecordFigures, Recorded};
pub(crate) use used::item_by;
pub use used::{FactOrigin, FactUsed, facts_used};
