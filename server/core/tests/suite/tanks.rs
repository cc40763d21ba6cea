//! Checks of `ostler_core::tanks`.
