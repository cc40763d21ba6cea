//! Cargo, called by a program that cargo itself runs.

use std::env;
use std::process::Command;

/// Cargo without what it told this program about its own package.
///
/// A build script that reads such a variable (that of `ring` reads `CARGO_MANIFEST_DIR`) would otherwise count as changed, and
/// everything that depends on it, the server among it, would be built again, here and in the next build outside.
#[must_use]
pub fn cargo() -> Command {
    let mut cargo = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    for (name, _) in env::vars_os() {
        let told = name
            .to_str()
            .is_some_and(|name| name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_"));
        if told {
            cargo.env_remove(name);
        }
    }
    cargo
}
