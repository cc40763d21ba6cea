//! Errors as gRPC statuses. Nothing else builds a status for a failed use case.

use std::collections::HashMap;
use std::error::Error;
use std::time::Duration;

use ostler_core::check::InvalidInput;
use ostler_proto::v1::{ErrorReason, Role};
use ostler_store::StoreError;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, FieldViolation, StatusExt};

use crate::access;
use crate::app::AppError;
use crate::limits::PAUSE;

/// Domain of every `ErrorInfo`.
pub const DOMAIN: &str = "ostler";

/// Most violations that one answer carries; a status travels in headers, which are small.
const VIOLATIONS_MAX: usize = 40;

/// Longest text of one violation.
const VIOLATION_LENGTH_MAX: usize = 200;

/// The status of a failed use case.
pub fn of(error: AppError) -> Status {
    let message = error.to_string();
    match error {
        AppError::Invalid(refused) => invalid(ErrorReason::InvalidField, &message, &refused),
        AppError::FileFaulty(refused) => invalid(ErrorReason::FileFaulty, &message, &refused),
        AppError::NotFound { name } | AppError::NotThereAt { name, .. } => {
            named(Code::NotFound, ErrorReason::ResourceNotFound, &message, &name)
        }
        AppError::Exists { name } => named(Code::AlreadyExists, ErrorReason::ResourceExists, &message, &name),
        AppError::Stale { name } => named(Code::Aborted, ErrorReason::StaleEtag, &message, &name),
        AppError::RequestIdReused { request_id } => {
            let metadata = [("request_id", request_id.as_str())];
            plain(
                Code::InvalidArgument,
                ErrorReason::RequestIdReused,
                &message,
                &metadata,
            )
        }
        AppError::InUse { name, by } => {
            let metadata = [("name", name.as_str()), ("by", &by.join(" "))];
            plain(
                Code::FailedPrecondition,
                ErrorReason::ResourceInUse,
                &message,
                &metadata,
            )
        }
        AppError::WrongState { ref name, .. }
        | AppError::NotSettled { ref name, .. }
        | AppError::AssessmentOutdated { ref name, .. } => {
            named(Code::FailedPrecondition, not_now(&error), &message, name)
        }
        AppError::RecordIncomplete { name, missing } => {
            let metadata = [("name", name.as_str()), ("missing", &missing)];
            plain(
                Code::FailedPrecondition,
                ErrorReason::RecordIncomplete,
                &message,
                &metadata,
            )
        }
        AppError::Busy => busy(),
        AppError::Stopping => plain(Code::Unavailable, ErrorReason::ServerStopping, &message, &[]),
        AppError::RoleTooWeak { has, needed } => role_too_weak(has, needed),
        AppError::OutOfScope => plain(Code::PermissionDenied, ErrorReason::OutOfScope, &message, &[]),
        AppError::ResumeToken => token(ErrorReason::ResumeTokenInvalid, &message),
        AppError::PageToken => token(ErrorReason::PageTokenInvalid, &message),
        AppError::Storage(error) => storage(&error),
        AppError::Corrupt { name, source } => {
            tracing::error!(
                resource = name,
                error = chain(&*source),
                "a stored record cannot be read"
            );
            internal()
        }
    }
}

/// The status of a call that was not begun, for the server has more to do than it can take on.
pub fn busy() -> Status {
    later(
        Code::Unavailable,
        ErrorReason::ServerBusy,
        &AppError::Busy.to_string(),
        PAUSE,
    )
}

/// The status of a database that failed. What may be sent again, under its request id, is unavailable.
fn storage(error: &StoreError) -> Status {
    let message = match error {
        busy if busy.is_retryable() => {
            tracing::warn!(error = chain(busy), "storage unavailable");
            "the database is busy or cannot be reached"
        }
        StoreError::Disk { .. } => {
            tracing::error!(error = chain(error), "the disk failed");
            "the disk under the database is full or failed; what was asked was not written"
        }
        StoreError::CommitUnknown { .. } => {
            tracing::error!(error = chain(error), "a commit was not answered");
            "it is not known whether it was written: send it again under the same request id, which tells"
        }
        other => {
            tracing::error!(error = chain(other), "storage failed");
            return internal();
        }
    };
    plain(Code::Unavailable, ErrorReason::StorageUnavailable, message, &[])
}

/// Why a resource is not in a state that allows a call.
fn not_now(error: &AppError) -> ErrorReason {
    match error {
        AppError::NotSettled { .. } => ErrorReason::NotSettled,
        AppError::AssessmentOutdated { .. } => ErrorReason::AssessmentOutdated,
        _ => ErrorReason::WrongState,
    }
}

fn named(code: Code, reason: ErrorReason, message: &str, name: &str) -> Status {
    plain(code, reason, message, &[("name", name)])
}

/// The refusal of a page token or resume token.
fn token(reason: ErrorReason, message: &str) -> Status {
    plain(Code::InvalidArgument, reason, message, &[])
}

fn internal() -> Status {
    plain(
        Code::Internal,
        ErrorReason::InternalFault,
        "a fault of the server; its log says more",
        &[],
    )
}

/// The refusal of a caller whose role does not allow what was asked.
pub fn role_too_weak(has: Role, needed: Role) -> Status {
    let message = AppError::RoleTooWeak { has, needed }.to_string();
    let (has, needed) = (access::role_word(has), access::role_word(needed));
    plain(
        Code::PermissionDenied,
        ErrorReason::RoleTooWeak,
        &message,
        &[("role", has), ("needed_role", needed)],
    )
}

/// A status with its `ErrorInfo`.
pub fn plain(code: Code, reason: ErrorReason, message: &str, metadata: &[(&str, &str)]) -> Status {
    let details = ErrorDetails::with_error_info(reason_name(reason), DOMAIN, map(metadata));
    Status::with_error_details(code, message, details)
}

/// A refusal of a call that was not begun and may be sent again after `pause`.
pub fn later(code: Code, reason: ErrorReason, message: &str, pause: Duration) -> Status {
    let mut details = ErrorDetails::with_retry_info(Some(pause));
    details.set_error_info(reason_name(reason), DOMAIN, HashMap::new());
    Status::with_error_details(code, message, details)
}

/// The name of a reason as `ErrorInfo` carries it: without the prefix of its enum.
pub fn reason_name(reason: ErrorReason) -> String {
    reason
        .as_str_name()
        .trim_start_matches("ERROR_REASON_")
        .to_owned()
}

fn invalid(reason: ErrorReason, message: &str, refused: &InvalidInput) -> Status {
    let count = refused.violations.len();
    let violations: Vec<FieldViolation> = refused
        .violations
        .iter()
        .take(VIOLATIONS_MAX)
        .map(|violation| {
            FieldViolation::new(
                shorten(&violation.field),
                shorten(&format!("{} {}", violation.field, violation.problem)),
            )
        })
        .collect();
    let metadata = map(&[("violation_count", &count.to_string())]);
    let mut details = ErrorDetails::with_bad_request(violations);
    details.set_error_info(reason_name(reason), DOMAIN, metadata);
    let message = match refused.violations.as_slice() {
        [one] => format!("{message}: {}", shorten(&one.to_string())),
        [one, ..] => format!("{message}: {} and {} more", shorten(&one.to_string()), count - 1),
        [] => message.to_owned(),
    };
    Status::with_error_details(Code::InvalidArgument, message, details)
}

fn shorten(text: &str) -> String {
    if text.chars().count() <= VIOLATION_LENGTH_MAX {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(VIOLATION_LENGTH_MAX - 1).collect();
    short.push('…');
    short
}

fn map(metadata: &[(&str, &str)]) -> HashMap<String, String> {
    metadata
        .iter()
        .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
        .collect()
}

/// An error with all its causes, for the log.
pub fn chain(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut next = error.source();
    while let Some(cause) = next {
        text.push_str(": ");
        text.push_str(&cause.to_string());
        next = cause.source();
    }
    text
}
