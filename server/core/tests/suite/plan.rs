//! Checks of `ostler_core::plan`.
