//! Checks of `ostler_core::stability`.
