//! The contract that the proto files state beside each field, enforced by one walker.
//!
//! Every request passes [`check()`] before anything else looks at it, so that all violations of forms
//! and ranges are found together, each with the full path of its field. What a single field cannot
//! say (a slot that the vehicle lacks, a return before the departure) is the core's to check.

mod check;
mod mask;
mod references;
mod rules;

pub use check::{Presence, check, check_within};
pub use mask::{clear_output_only, merge, unchangeable};
pub use references::{Reference, references};
pub use rules::{access_role, collection_of, is_method, is_stream, prepare, role_of_request};
pub(crate) use rules::{is_shared, rule, targets};

use prost_reflect::{DynamicMessage, ReflectMessage};

/// The dynamic form of a message, for reflection.
pub fn dynamic(message: &impl ReflectMessage) -> DynamicMessage {
    message.transcode_to_dynamic()
}
