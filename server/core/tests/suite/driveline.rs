//! Checks of `ostler_core::driveline`.
