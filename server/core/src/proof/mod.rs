//! Stale proof: work done after a test takes the test's word away.
//!
//! [`topics_touched`] says which topics of evidence a vehicle's system touches; [`stale_evidence`] lists
//! the evidence of a vehicle that later work made stale, with the work that did; [`prove`] says whether
//! a topic is proven freshly, under conditions such as loaded, far enough, and early enough before the
//! departure.

mod closing;
mod pieces;
mod requirement;
mod stale;
mod substitution;
mod topics;

pub use crate::record::{FactCondition, FactTest, ProofRequirement};
pub use closing::check_closing;
pub use requirement::{ProofAnswer, ProofAssessment, prove};
pub use stale::{ProofPolicy, Stale, Work, evidence_touched, stale_evidence};
pub use substitution::check_proof;
pub use topics::{ALIGNMENT, BRAKE_TEST, LEAK_TEST, SHAKEDOWN, WEIGHING, topics_touched};
