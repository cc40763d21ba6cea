//! Checks of `ostler_core::water`.
