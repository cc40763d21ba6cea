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
/// The file is written before the store knows the token: a crash in between leaves a file that the
/// next start writes again, never a token that nobody has.
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
    let secret = access::new_secret();
    write_private(&path, &secret).map_err(|source| AdminTokenError::File {
        path: path.clone(),
        source,
    })?;
    match access::add_secret(store, "admin", Role::Admin, &secret, now_micros).await {
        Ok(()) => Ok(Some(path)),
        // Another server on the same database was first; its file holds the token.
        Err(StoreError::AlreadyExists { .. }) => {
            drop(fs::remove_file(&path));
            Ok(None)
        }
        Err(error) => Err(error.into()),
    }
}

fn write_private(path: &Path, secret: &str) -> io::Result<()> {
    let fresh = path.with_extension("new");
    drop(fs::remove_file(&fresh));
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&fresh)?;
    writeln!(file, "{secret}")?;
    file.sync_all()?;
    fs::rename(&fresh, path)
}
