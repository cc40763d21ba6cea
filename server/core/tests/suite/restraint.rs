//! Checks of `ostler_core::restraint`.
