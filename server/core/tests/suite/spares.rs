//! Checks of `ostler_core::spares`.
