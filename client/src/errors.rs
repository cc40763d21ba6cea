//! What can go wrong, told to people: what is wrong, every fault on its own line, and a hint.

use std::error::Error;
use std::fmt::Write;
use std::io;
use std::path::PathBuf;

use ostler_proto::v1::ErrorReason;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use crate::output::{Style, clean};

/// Domain of the API's error reasons.
const DOMAIN: &str = "ostler";

/// Why a command failed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CliError {
    /// The command line asks for something that makes no sense.
    #[error("{problem}")]
    Usage {
        /// What.
        problem: String,
        /// What would.
        hint: String,
    },
    /// The config file cannot be understood.
    #[error("{} cannot be understood:\n{problem}", .path.display())]
    Config {
        /// Where it is.
        path: PathBuf,
        /// What is wrong with it.
        problem: String,
    },
    /// A file cannot be read or written.
    #[error("cannot {doing} {}", .path.display())]
    File {
        /// `read` or `write`.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// What was read does not hold a record.
    #[error("{what} has faults")]
    Faulty {
        /// What was read.
        what: String,
        /// Everything that is wrong with it.
        faults: Vec<Fault>,
    },
    /// Nobody answers.
    #[error("no server can be reached at {server}")]
    Unreachable {
        /// The address.
        server: String,
        /// Why.
        #[source]
        source: tonic::transport::Error,
    },
    /// The answer did not come in time.
    #[error("the server at {server} did not answer within {seconds} s")]
    Late {
        /// The address.
        server: String,
        /// How long it had.
        seconds: u64,
    },
    /// The server says no.
    #[error("{}", refusal(.0))]
    Refused(Box<Status>),
    /// The server answered something that this program cannot use.
    #[error("the server's answer cannot be used: {problem}")]
    Answer {
        /// Why not.
        problem: String,
    },
    /// The program cannot run at all.
    #[error("the program cannot start its work")]
    Runtime(#[source] io::Error),
}

/// A fault of a file or a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    /// Path of the field, for example `replacements[0].slot`. Empty: the whole.
    pub field: String,
    /// What is wrong with it.
    pub problem: String,
}

impl CliError {
    /// The number that the program ends with.
    pub(crate) fn exit_code(&self) -> u8 {
        if matches!(self, Self::Usage { .. }) { 2 } else { 1 }
    }

    /// Everything about it for standard error.
    pub(crate) fn render(&self, style: Style) -> String {
        let mut text = format!("{} {}\n", style.bad("error:"), clean(&self.to_string()));
        let faults = self.faults();
        // The answer to a single fault has told it already.
        let told = matches!(faults.as_slice(), [only] if self.to_string().ends_with(&only.problem));
        for fault in faults.iter().filter(|_| !told) {
            let field = clean(&fault.field);
            let problem = clean(&fault.problem).replace('\n', "\n    ");
            // Most descriptions name the field themselves.
            let _ = if problem.starts_with(&field) {
                writeln!(text, "  {problem}")
            } else {
                writeln!(text, "  {field}: {problem}")
            };
        }
        let causes = std::iter::successors(self.source(), |error| (*error).source());
        let mut causes: Vec<String> = causes.map(|error| clean(&error.to_string())).collect();
        // Layers of a library pass one fault on under one name.
        causes.dedup();
        for cause in causes {
            let _ = writeln!(text, "  because: {cause}");
        }
        let _ = writeln!(text, "{} {}", style.dim("hint:"), self.hint());
        text
    }

    fn faults(&self) -> Vec<Fault> {
        match self {
            Self::Faulty { faults, .. } => faults.clone(),
            Self::Refused(status) => violations(status),
            _ => Vec::new(),
        }
    }

    fn hint(&self) -> String {
        match self {
            Self::Usage { hint, .. } => hint.clone(),
            Self::Config { .. } => {
                "its keys are server, token and fleet, each with a text in quotes".to_owned()
            }
            Self::File { doing, .. } => format!("check the path and whether you may {doing} there"),
            Self::Faulty { .. } => {
                "put right every line above, then give the command again; nothing was written".to_owned()
            }
            Self::Unreachable { .. } => {
                "start one with `ostlerd serve`, or say where it is with --server or OSTLER_SERVER".to_owned()
            }
            Self::Late { .. } => {
                "whether it was done is not known: give the command again with the same --request-id, or a \
                 longer --timeout"
                    .to_owned()
            }
            Self::Refused(status) => refusal_hint(status),
            Self::Answer { .. } => "compare `ostler --version` with the version of the server".to_owned(),
            Self::Runtime(_) => "the system is out of threads or files; close other programs".to_owned(),
        }
    }
}

/// What a refusal says.
fn refusal(status: &Status) -> String {
    let text = if status.message().is_empty() {
        status.code().description()
    } else {
        status.message()
    };
    text.to_owned()
}

/// Every field violation of a refusal.
fn violations(status: &Status) -> Vec<Fault> {
    let Some(bad_request) = status.get_details_bad_request() else {
        return Vec::new();
    };
    bad_request
        .field_violations
        .into_iter()
        .map(|violation| Fault {
            field: violation.field,
            problem: violation.description,
        })
        .collect()
}

/// The API's reason of a refusal. `None`: it has none, or one of another domain or a later version.
pub(crate) fn reason_of(status: &Status) -> Option<ErrorReason> {
    let info = status.get_details_error_info()?;
    if info.domain != DOMAIN {
        return None;
    }
    ErrorReason::from_str_name(&format!("ERROR_REASON_{}", info.reason))
}

fn refusal_hint(status: &Status) -> String {
    match reason_of(status) {
        Some(reason) => reason_hint(reason).to_owned(),
        None => code_hint(status.code()).to_owned(),
    }
}

fn reason_hint(reason: ErrorReason) -> &'static str {
    match reason {
        ErrorReason::Unspecified | ErrorReason::InternalFault | ErrorReason::BodyFaulty => {
            "this is a fault of the server; its log says more"
        }
        ErrorReason::InvalidField => {
            "put right every line above, then give the command again; nothing was written"
        }
        ErrorReason::ResourceNotFound => "see what there is with `ostler list KIND`, and check --fleet",
        ErrorReason::ResourceExists => "choose another id, or change the record with `ostler change`",
        ErrorReason::StaleEtag => {
            "somebody changed it in between: look at it with `ostler show`, then decide again"
        }
        ErrorReason::RequestIdReused => "leave out --request-id to get a new one",
        ErrorReason::ResourceInUse => {
            "first change or delete what uses it; for what lies below it there is --force"
        }
        ErrorReason::WrongState => {
            "look at its state with `ostler show`; `ostler history` says how it came about"
        }
        ErrorReason::NotSettled => {
            "see what is open with `ostler assess`, close it with `ostler settle` or a compatibility note"
        }
        ErrorReason::AssessmentOutdated => {
            "see the difference with `ostler assess`, keep it with --keep, then decide"
        }
        ErrorReason::RecordIncomplete => "record what is missing, then give the command again",
        ErrorReason::TokenInvalid => {
            "give a token with OSTLER_TOKEN or --token-file; `ostlerd token` makes one, and on the server's own \
             account the admin token is found by itself"
        }
        ErrorReason::RoleTooWeak => "ask whoever looks after the server for a token with a stronger role",
        ErrorReason::OutOfScope => {
            "the token is limited to vehicles: name one of them, or ask for a token that is not"
        }
        ErrorReason::FileFaulty => {
            "put right every line above, then bring the file in again; nothing was written"
        }
        ErrorReason::ResumeTokenInvalid => {
            "watch again without the token: all answers are then sent once more"
        }
        ErrorReason::PageTokenInvalid => "give the command again from the start",
        ErrorReason::CalledTooOften => "this token calls too often; wait a moment, or ask for a higher limit",
        ErrorReason::TooMuchAtOnce => "end what this token has going on, such as watches, or wait for it",
        ErrorReason::ServerStopping => "the server is being stopped; give the command again when it is back",
        ErrorReason::ServerBusy => "the server has too much to do; give the command again in a moment",
        ErrorReason::StorageUnavailable => {
            "the server's database is busy or away; give the command again in a moment"
        }
    }
}

fn code_hint(code: Code) -> &'static str {
    match code {
        Code::Unimplemented => {
            "the server does not know this call: compare `ostler --version` with its version"
        }
        Code::Unauthenticated => reason_hint(ErrorReason::TokenInvalid),
        Code::PermissionDenied => reason_hint(ErrorReason::RoleTooWeak),
        Code::ResourceExhausted => "it is too large or too often; ask for less at once or wait a moment",
        Code::Unavailable => "the server went away; give the command again in a moment",
        Code::Unknown => {
            "the connection broke off; if the server speaks TLS, give the certificates that vouch for it with --ca"
        }
        _ => "see the server's log, or give the command again",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tonic_types::{ErrorDetails, FieldViolation};

    fn refused(code: Code, reason: &str, violations: Vec<FieldViolation>) -> CliError {
        let mut details = ErrorDetails::new();
        details.set_error_info(reason, DOMAIN, [("name".to_owned(), "x".to_owned())]);
        if !violations.is_empty() {
            details.set_bad_request(violations);
        }
        CliError::Refused(Box::new(Status::with_error_details(
            code,
            "the request is not valid",
            details,
        )))
    }

    #[test]
    fn every_violation_has_its_line_and_the_last_is_a_hint() {
        let error = refused(
            Code::InvalidArgument,
            "INVALID_FIELD",
            vec![
                FieldViolation::new(
                    "substitution.replacements[0].slot",
                    "must be a slot of the vehicle",
                ),
                FieldViolation::new("substitution.fitted_date", "must be a date YYYY-MM-DD"),
                FieldViolation::new("substitution.vehicle", "substitution.vehicle must be set"),
            ],
        );
        insta::assert_snapshot!(error.render(Style::plain()), @r"
        error: the request is not valid
          substitution.replacements[0].slot: must be a slot of the vehicle
          substitution.fitted_date: must be a date YYYY-MM-DD
          substitution.vehicle must be set
        hint: put right every line above, then give the command again; nothing was written
        ");
    }

    #[test]
    fn a_single_violation_is_told_once() {
        let mut details = ErrorDetails::new();
        details.set_error_info("INVALID_FIELD", DOMAIN, [("name".to_owned(), "x".to_owned())]);
        details.add_bad_request_violation("parent", "parent must be set");
        let message = "the request is not valid: parent must be set";
        let status = Status::with_error_details(Code::InvalidArgument, message, details);
        insta::assert_snapshot!(CliError::Refused(Box::new(status)).render(Style::plain()), @r"
        error: the request is not valid: parent must be set
        hint: put right every line above, then give the command again; nothing was written
        ");
    }

    #[test]
    fn every_reason_of_the_api_has_a_hint_of_its_own() {
        let mut hints = std::collections::BTreeSet::new();
        for number in 1..=15 {
            let reason = ErrorReason::try_from(number).unwrap();
            assert!(
                hints.insert(reason_hint(reason)) || reason == ErrorReason::InternalFault,
                "{reason:?}"
            );
            let word = reason.as_str_name().trim_start_matches("ERROR_REASON_");
            let CliError::Refused(status) = refused(Code::Internal, word, Vec::new()) else {
                panic!()
            };
            assert_eq!(reason_of(&status), Some(reason));
        }
        assert!(
            ErrorReason::try_from(16).is_err(),
            "a new reason needs a hint and a larger bound here"
        );
    }

    #[test]
    fn causes_are_told_and_control_characters_are_not() {
        let error = CliError::File {
            doing: "read",
            path: PathBuf::from("a\u{1b}[31mb.yaml"),
            source: io::Error::new(io::ErrorKind::NotFound, "no such file"),
        };
        insta::assert_snapshot!(error.render(Style::plain()), @r"
        error: cannot read a[31mb.yaml
          because: no such file
        hint: check the path and whether you may read there
        ");
    }

    #[test]
    fn a_cause_is_told_once() {
        #[derive(Debug, thiserror::Error)]
        #[error("no such file")]
        struct Layer(#[source] Option<Box<Layer>>);

        let passed_on = Layer(Some(Box::new(Layer(None))));
        let error = CliError::File {
            doing: "read",
            path: PathBuf::from("b.yaml"),
            source: io::Error::new(io::ErrorKind::NotFound, passed_on),
        };
        assert_eq!(error.render(Style::plain()).matches("no such file").count(), 1);
    }

    #[test]
    fn only_a_wrong_command_ends_with_two() {
        let usage = CliError::Usage {
            problem: String::new(),
            hint: String::new(),
        };
        assert_eq!(usage.exit_code(), 2);
        assert_eq!(
            refused(Code::NotFound, "RESOURCE_NOT_FOUND", Vec::new()).exit_code(),
            1
        );
    }
}
