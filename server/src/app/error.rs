//! Why a use case failed. `grpc::status` turns these into statuses; nothing else does.

use ostler_core::check::{InvalidInput, Violation};
use ostler_proto::v1::Role;
use ostler_store::StoreError;

use crate::access;

/// Why a use case failed.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// Fields of the request break the contract or the record's integrity.
    #[error("the request is not valid")]
    Invalid(#[source] InvalidInput),
    /// A file has faults.
    #[error("the file has faults")]
    FileFaulty(#[source] InvalidInput),
    /// A resource does not exist.
    #[error("{name} does not exist")]
    NotFound {
        /// Its name.
        name: String,
    },
    /// A resource was not there at a moment.
    #[error("{name} was not there at {time}: {why}")]
    NotThereAt {
        /// Its name.
        name: String,
        /// The moment.
        time: String,
        /// Why not.
        why: String,
    },
    /// A resource exists already.
    #[error("{name} exists already")]
    Exists {
        /// Its name.
        name: String,
    },
    /// More is to be computed than can be.
    #[error("the server has more to do than it can take on")]
    Busy,
    /// The server is being stopped, and what goes on without end ends with it.
    #[error("the server is being stopped")]
    Stopping,
    /// Somebody changed the resource in between.
    #[error("{name} was changed since it was read")]
    Stale {
        /// Its name.
        name: String,
    },
    /// The request id was used for another request.
    #[error("the request id {request_id} was used before for a different request")]
    RequestIdReused {
        /// The id.
        request_id: String,
    },
    /// Something refers to the resource or stands below it.
    #[error("{name} is in use by {}", .by.join(", "))]
    InUse {
        /// Its name.
        name: String,
        /// Who uses it; not necessarily all.
        by: Vec<String>,
    },
    /// The resource is in a state that does not allow this.
    #[error("{name} {problem}")]
    WrongState {
        /// Its name.
        name: String,
        /// Why not, as a predicate.
        problem: String,
    },
    /// Interfaces of a substitution clash or are not known.
    #[error("{name} is not settled: {open}")]
    NotSettled {
        /// Its name.
        name: String,
        /// What is open.
        open: String,
    },
    /// The record says something else than the kept assessment.
    #[error("the kept assessment of {name} does not hold any more: {changes}; assess it again")]
    AssessmentOutdated {
        /// Its name.
        name: String,
        /// What changed.
        changes: String,
    },
    /// The record lacks something the computation cannot do without.
    #[error("the record of {name} is incomplete: {missing}")]
    RecordIncomplete {
        /// What it is about.
        name: String,
        /// What is missing.
        missing: String,
    },
    /// The caller's role does not allow this.
    #[error("this needs the role {}, the token has {}", access::role_word(*.needed), access::role_word(*.has))]
    RoleTooWeak {
        /// The caller's role.
        has: Role,
        /// The weakest role that may.
        needed: Role,
    },
    /// The token is limited to vehicles, and this belongs to none of them.
    #[error("the token is limited to vehicles, and this belongs to none or to all")]
    OutOfScope,
    /// A resume token of another question.
    #[error("the resume token does not belong to this question")]
    ResumeToken,
    /// A page token of another list.
    #[error("the page token does not belong to this list")]
    PageToken,
    /// The database failed.
    #[error("the database failed")]
    Storage(#[source] StoreError),
    /// A stored body that this server cannot read.
    #[error("the stored record of {name} cannot be read")]
    Corrupt {
        /// Its name.
        name: String,
        /// What was wrong.
        #[source]
        source: Box<dyn std::error::Error + Send + Sync>,
    },
}

impl AppError {
    /// A single violation.
    pub fn field(field: impl Into<String>, problem: impl Into<String>) -> Self {
        Self::Invalid(InvalidInput::one(field, problem))
    }

    /// All of `violations`, if there are any.
    ///
    /// # Errors
    /// When there are.
    pub fn if_any(violations: Vec<Violation>) -> Result<(), Self> {
        if violations.is_empty() {
            Ok(())
        } else {
            Err(Self::Invalid(InvalidInput { violations }))
        }
    }
}

impl From<StoreError> for AppError {
    /// What callers meet in the ordinary course of things has a reason of its own.
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::AlreadyExists { name } => Self::Exists { name },
            StoreError::Stale { name } => Self::Stale { name },
            other => Self::Storage(other),
        }
    }
}

impl From<InvalidInput> for AppError {
    fn from(refused: InvalidInput) -> Self {
        Self::Invalid(refused)
    }
}
