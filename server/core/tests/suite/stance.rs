//! Checks of `ostler_core::stance`.
