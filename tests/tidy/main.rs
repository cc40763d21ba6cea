//! House rules that a command can judge: what no compiler, linter or formatter looks at.
//!
//! Each test collects every breach and fails with all of them, each with its file. A rule that should give way gets an
//! exception in the list beside it, with the reason.
//!
//! - [`sources`]: every Rust source by itself.
//! - [`crates`]: which crate may know which, and what keeps the core pure.
//! - [`api`]: the proto files.
//! - [`tree`]: which files there are.

#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "helpers of tests: what they cannot read fails the test"
)]

mod api;
mod api_style;
mod crates;
mod sources;
mod tokens;
mod tree;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

/// The project's top folder.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("tests/ is in the top folder")
        .to_owned()
}

/// The project's files, tracked or about to be, relative to the top folder.
fn files() -> Vec<String> {
    let output = Command::new("git")
        // The clone may belong to another user, as in a container.
        .args([
            "-c",
            "safe.directory=*",
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
        ])
        .current_dir(root())
        .output()
        .expect("git lists the project's files: it must be installed");
    assert!(
        output.status.success(),
        "git ls-files: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    let listed = String::from_utf8(output.stdout).expect("file names are UTF-8");
    let mut files: Vec<String> = listed
        .split('\0')
        .filter(|path| !path.is_empty() && root().join(path).is_file())
        .map(str::to_owned)
        .collect();
    files.sort();
    files.dedup();
    assert!(files.len() > 50, "only {} files: the wrong folder?", files.len());
    files
}

/// The text of a file, by its path relative to the top folder.
fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Fails with every breach of a rule.
fn none(rule: &str, breaches: &[String]) {
    assert!(
        breaches.is_empty(),
        "{rule}: {} breaches\n  {}",
        breaches.len(),
        breaches.join("\n  ")
    );
}
