//! What the machine offers for a PostgreSQL server: its binaries, a user to run as, a short path.

use std::ffi::OsStr;
use std::fs;
use std::os::unix::fs::{MetadataExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::INSTALL;

/// Whom the server runs as.
#[derive(Debug)]
pub(super) struct Owner {
    /// User and group, when this process is root and has to become somebody else.
    ids: Option<(u32, u32)>,
}

impl Owner {
    /// The user of this process, to whom the folder just made belongs; in the place of root,
    /// somebody else, who gets the folder.
    pub(super) fn of(folder: &Path) -> Self {
        let metadata = fs::metadata(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        if metadata.uid() != 0 {
            return Self { ids: None };
        }
        let users = fs::read_to_string("/etc/passwd").unwrap_or_else(|error| panic!("/etc/passwd: {error}"));
        let ids = ["postgres", "nobody"].iter().find_map(|name| ids(&users, name));
        let Some((user, group)) = ids else {
            panic!("PostgreSQL refuses to run as root, and there is no user postgres or nobody: add one")
        };
        chown(folder, Some(user), Some(group))
            .unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        Self {
            ids: Some((user, group)),
        }
    }

    pub(super) fn command(&self, program: &Path, folder: &Path) -> Command {
        let mut command = Command::new(program);
        // A folder the user may read, unlike perhaps the one of this process; no settings from outside.
        command
            .current_dir(folder)
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default());
        if let Some((user, group)) = self.ids {
            command.uid(user).gid(group);
        }
        command
    }
}

/// The user and group id of `name` in the text of `/etc/passwd`.
fn ids(users: &str, name: &str) -> Option<(u32, u32)> {
    users.lines().find_map(|line| {
        let fields: Vec<&str> = line.split(':').collect();
        let [user, _, uid, gid, ..] = fields[..] else {
            return None;
        };
        if user == name {
            Some((uid.parse().ok()?, gid.parse().ok()?))
        } else {
            None
        }
    })
}

/// The folder with `initdb` and `postgres`: where `pg_config` says, on the `PATH`, or where the
/// distributions put it; the newest version.
pub(super) fn binaries() -> PathBuf {
    let mut folders = Vec::new();
    if let Ok(output) = Command::new("pg_config").arg("--bindir").output() {
        folders.push(PathBuf::from(String::from_utf8_lossy(&output.stdout).trim()));
    }
    folders.extend(std::env::split_paths(
        &std::env::var_os("PATH").unwrap_or_default(),
    ));
    for (above, below) in [
        ("/usr/lib/postgresql", "bin"),
        ("/opt/homebrew/opt", "bin"),
        ("/usr", "bin"),
    ] {
        let Ok(entries) = fs::read_dir(above) else {
            continue;
        };
        let mut versions: Vec<(u32, PathBuf)> = entries
            .flatten()
            .map(|entry| (version(&entry.file_name()), entry.path().join(below)))
            .collect();
        versions.sort();
        folders.extend(versions.into_iter().rev().map(|(_, folder)| folder));
    }
    let complete = |folder: &PathBuf| {
        ["initdb", "postgres"]
            .iter()
            .all(|name| folder.join(name).is_file())
    };
    let found = folders.into_iter().find(complete);
    found.unwrap_or_else(|| {
        panic!("no `initdb` and `postgres` where pg_config points, on the PATH or under /usr/lib/postgresql: {INSTALL}")
    })
}

/// The number in a folder name such as `15`, `pgsql-15` or `postgresql@15`; 0 without one.
fn version(folder: &OsStr) -> u32 {
    let name = folder.to_string_lossy();
    name.rsplit(|character: char| !character.is_ascii_digit())
        .next()
        .and_then(|digits| digits.parse().ok())
        .unwrap_or(0)
}

/// The path of a Unix socket has at most some 100 bytes.
pub(super) fn short_temporary_folder() -> PathBuf {
    let folder = std::env::temp_dir();
    if folder.as_os_str().len() <= 60 {
        folder
    } else {
        PathBuf::from("/tmp")
    }
}
