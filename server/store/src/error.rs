//! What can go wrong, and the one place where database errors are told apart.

use sqlx::error::{DatabaseError, ErrorKind};
use sqlx::postgres::PgDatabaseError;
use sqlx::sqlite::SqliteError;

/// The cause under a [`StoreError`], kept for the log.
pub type Source = Box<dyn std::error::Error + Send + Sync + 'static>;

/// What can go wrong in the store. A thing that is not there is no error but `None`.
///
/// No message repeats its source; a log prints the chain.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The name of a new row is taken.
    #[error("{name} already exists")]
    AlreadyExists {
        /// The name that is taken.
        name: String,
    },
    /// Since the caller read the row, another writer changed or deleted it.
    #[error("{name} has changed or gone since it was read")]
    Stale {
        /// The row that changed.
        name: String,
    },
    /// A row refers to something missing, or something that is still referred to was deleted.
    /// Found at commit; nothing was written.
    #[error("a record refers to something missing, or is deleted while still referred to")]
    Reference {
        /// What the database said.
        #[source]
        source: Source,
    },
    /// The actor has used this request id before: read the stored answer instead.
    #[error("this request id has been used before")]
    RequestRepeated,
    /// An earlier operation of this transaction failed, so nothing more is done in it.
    #[error("the transaction was given up after an earlier failure")]
    Abandoned,
    /// A value breaks a rule of the schema, such as an empty name.
    #[error("a value breaks a rule of the schema")]
    Invalid {
        /// What the database said.
        #[source]
        source: Source,
    },
    /// More names in one call than a statement takes.
    #[error("{count} names in one call; at most {limit} are taken")]
    TooMany {
        /// How many were given.
        count: usize,
        /// How many are taken.
        limit: usize,
    },
    /// A newer server has migrated the database, and what it has changed does not let this one work on it.
    #[error(
        "the database has schema version {found}, this server knows versions up to {known} and may not work on it: \
         use a newer server"
    )]
    SchemaTooNew {
        /// The version of the database.
        found: i64,
        /// The newest version this server knows.
        known: i64,
    },
    /// A migration failed; the database is as it was before.
    #[error("migration {version} failed")]
    Migration {
        /// The version that was being applied.
        version: i64,
        /// What the database said.
        #[source]
        source: Box<StoreError>,
    },
    /// The location cannot be read.
    #[error("the location of the record cannot be read")]
    Location {
        /// What is wrong with it.
        #[source]
        source: crate::LocationError,
    },
    /// Other writers hold what is needed, or the database gave this transaction up for another.
    /// Nothing was written; trying again is right.
    #[error("the database is busy")]
    Busy {
        /// What the database said.
        #[source]
        source: Source,
    },
    /// The database cannot be reached. Nothing was written; trying again later is right.
    #[error("the database cannot be reached")]
    Unavailable {
        /// What the connection said.
        #[source]
        source: Source,
    },
    /// The commit was sent and its answer never came: the write may have happened or not. Repeating
    /// the request under the same request id is right, and tells.
    #[error("it is not known whether the write was committed")]
    CommitUnknown {
        /// What came instead of the answer.
        #[source]
        source: Box<StoreError>,
    },
    /// Only the other database does what was asked.
    #[error("this kind of database does not offer {asked}")]
    NotOfThisDatabase {
        /// What was asked.
        asked: &'static str,
    },
    /// The disk is full, broken or read-only.
    #[error("the disk under the database failed")]
    Disk {
        /// What the database said.
        #[source]
        source: Source,
    },
    /// What was read is not what was written, or the file is no database.
    #[error("the database is damaged or not of this kind")]
    Corrupt {
        /// What the database said.
        #[source]
        source: Source,
    },
    /// Anything else the database refused, such as a wrong password.
    #[error("the database refused")]
    Refused {
        /// What the database said.
        #[source]
        source: Source,
    },
}

impl StoreError {
    /// Whether nothing was written and the same call may succeed if simply made again.
    #[must_use]
    pub fn is_retryable(&self) -> bool {
        match self {
            Self::Busy { .. } | Self::Unavailable { .. } => true,
            Self::Migration { source, .. } => source.is_retryable(),
            _ => false,
        }
    }
}

/// Tells an error of the database library apart.
pub(crate) fn classify(error: sqlx::Error) -> StoreError {
    use sqlx::Error as E;
    match error {
        E::Database(error) => classify_database(error),
        E::Io(error) => StoreError::Unavailable { source: error.into() },
        E::Tls(source) => StoreError::Unavailable { source },
        E::PoolTimedOut | E::PoolClosed | E::WorkerCrashed | E::BeginFailed | E::Protocol(_) => {
            StoreError::Unavailable { source: error.into() }
        }
        E::Configuration(source) => StoreError::Refused { source },
        E::ColumnDecode { .. } | E::Decode(_) | E::ColumnNotFound(_) | E::RowNotFound => {
            StoreError::Corrupt { source: error.into() }
        }
        other => StoreError::Refused { source: other.into() },
    }
}

/// Tells an error of waiting for a SQLite connection apart: a file is always within reach, so a wait
/// that is too long is for those who are before in the queue.
pub(crate) fn classify_queue(error: sqlx::Error) -> StoreError {
    match error {
        sqlx::Error::PoolTimedOut => StoreError::Busy { source: error.into() },
        other => classify(other),
    }
}

/// Tells an error of a commit apart: what surely did not happen keeps its kind, the rest is unknown.
pub(crate) fn classify_commit(error: sqlx::Error) -> StoreError {
    match classify(error) {
        certain @ (StoreError::Reference { .. } | StoreError::Busy { .. } | StoreError::Invalid { .. }) => {
            certain
        }
        other => StoreError::CommitUnknown {
            source: Box::new(other),
        },
    }
}

fn classify_database(error: Box<dyn DatabaseError>) -> StoreError {
    enum Class {
        Busy,
        Unavailable,
        Disk,
        Corrupt,
        Invalid,
        Reference,
        Refused,
    }
    let class = match error.kind() {
        ErrorKind::ForeignKeyViolation => Class::Reference,
        ErrorKind::NotNullViolation | ErrorKind::CheckViolation | ErrorKind::UniqueViolation => {
            Class::Invalid
        }
        _ => {
            let code = error.code().unwrap_or_default();
            if error.try_downcast_ref::<PgDatabaseError>().is_some() {
                // PostgreSQL manual, appendix A "PostgreSQL Error Codes".
                match code.as_ref() {
                    // serialization_failure, deadlock_detected, lock_not_available, query_canceled
                    "40001" | "40P01" | "55P03" | "57014" => Class::Busy,
                    // admin_shutdown, crash_shutdown, cannot_connect_now, too_many_connections,
                    // idle_in_transaction_session_timeout; class 08 is connection exceptions
                    "57P01" | "57P02" | "57P03" | "53300" | "25P03" => Class::Unavailable,
                    code if code.starts_with("08") => Class::Unavailable,
                    // disk_full, io_error
                    "53100" | "58030" => Class::Disk,
                    // data_corrupted, index_corrupted
                    "XX001" | "XX002" => Class::Corrupt,
                    // integrity_constraint_violation and class 22, data exceptions
                    "23000" => Class::Invalid,
                    code if code.starts_with("22") => Class::Invalid,
                    _ => Class::Refused,
                }
            } else if error.try_downcast_ref::<SqliteError>().is_some() {
                // SQLite "Result and Error Codes": the low byte is the primary code.
                match code.parse::<i64>().map_or(0, |code| code & 0xff) {
                    // BUSY, LOCKED
                    5 | 6 => Class::Busy,
                    // CANTOPEN
                    14 => Class::Unavailable,
                    // READONLY, IOERR, FULL
                    8 | 10 | 13 => Class::Disk,
                    // CORRUPT, NOTADB
                    11 | 26 => Class::Corrupt,
                    // TOOBIG, CONSTRAINT, MISMATCH
                    18..=20 => Class::Invalid,
                    _ => Class::Refused,
                }
            } else {
                Class::Refused
            }
        }
    };
    // `Box<dyn DatabaseError>` is an error itself, without the text the library puts before it.
    let source: Source = Box::new(error);
    match class {
        Class::Busy => StoreError::Busy { source },
        Class::Unavailable => StoreError::Unavailable { source },
        Class::Disk => StoreError::Disk { source },
        Class::Corrupt => StoreError::Corrupt { source },
        Class::Invalid => StoreError::Invalid { source },
        Class::Reference => StoreError::Reference { source },
        Class::Refused => StoreError::Refused { source },
    }
}
