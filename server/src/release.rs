//! Which build this is.

/// Version of the release.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Revision of the sources, as whoever built it named it in `OSTLER_REVISION`; `unknown` when nobody did.
pub const REVISION: &str = match option_env!("OSTLER_REVISION") {
    Some(revision) => revision,
    None => "unknown",
};

/// Both, for `--version`.
#[must_use]
pub fn text() -> String {
    format!("{VERSION} ({REVISION})")
}
