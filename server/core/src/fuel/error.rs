//! Why a fuel computation gives no answer.

use crate::check::InvalidInput;

/// Why a fuel computation gives no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FuelError {
    /// An input is out of its range.
    #[error(transparent)]
    Invalid(#[from] InvalidInput),
    /// An input that the answer depends on is not recorded.
    #[error("not known, missing: {}", .missing.join(", "))]
    NotKnown {
        /// What is missing, at least one entry, each once, in the order met.
        missing: Vec<String>,
    },
    /// The linear programme solver gave up. The inputs are valid; nothing may be concluded.
    #[error("the linear programme was not solved: {0}")]
    NotSolved(String),
}

/// Collects what is missing, each once.
#[derive(Debug, Default)]
pub(super) struct Missing(Vec<String>);

impl Missing {
    /// Notes that `what` is missing.
    pub(super) fn note(&mut self, what: String) {
        if !self.0.contains(&what) {
            self.0.push(what);
        }
    }

    /// Ends the collection.
    pub(super) fn finish(self) -> Result<(), FuelError> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err(FuelError::NotKnown { missing: self.0 })
        }
    }
}
