//! The admin token of the first start, in a file that only its user can read.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use ostler_proto::v1::Role;
use ostler_store::{Store, StoreError};

use crate::access;

/// Name of the file within the data folder.
pub const FILE_NAME: &str = "admin-token";

/// Why the first token could not be made.
#[derive(Debug, thiserror::Error)]
pub enum AdminTokenError {
    /// The file cannot be written.
    #[error("the admin token cannot be written to {}", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// The database failed.
    #[error("the admin token cannot be stored")]
    Store(#[from] StoreError),
}

/// Makes an admin token when the store has no token at all; returns its file when it did.
///
/// The secret is on disk, under another name, before the store knows the token, and takes its place
/// after: a crash in between leaves a token whose secret lies beside its place, never a good file
/// overwritten by a server that came second.
///
/// # Errors
/// When the file cannot be written or the database fails.
pub async fn ensure(
    store: &Store,
    data_folder: &Path,
    now_micros: i64,
) -> Result<Option<PathBuf>, AdminTokenError> {
    if !store.tokens().await?.is_empty() {
        return Ok(None);
    }
    let path = data_folder.join(FILE_NAME);
    let fresh = data_folder.join(format!("{FILE_NAME}.{}", std::process::id()));
    let failed = |source| AdminTokenError::File {
        path: path.clone(),
        source,
    };
    let secret = access::new_secret();
    write_private(&fresh, &secret).map_err(failed)?;
    match access::add_secret(store, "admin", Role::Admin, &secret, now_micros).await {
        Ok(()) => {
            fs::rename(&fresh, &path).map_err(failed)?;
            Ok(Some(path))
        }
        Err(error) => {
            drop(fs::remove_file(&fresh));
            match error {
                // Another server on the same database was first; its file holds the token.
                StoreError::AlreadyExists { .. } => Ok(None),
                error => Err(error.into()),
            }
        }
    }
}

fn write_private(path: &Path, secret: &str) -> io::Result<()> {
    drop(fs::remove_file(path));
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    writeln!(file, "{secret}")?;
    file.sync_all()
}
