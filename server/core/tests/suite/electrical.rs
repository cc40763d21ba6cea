//! Checks of `ostler_core::electrical`.
