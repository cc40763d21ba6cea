//! Checks of `ostler_core::fuel`.
