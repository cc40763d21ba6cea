//! Checks of `ostler_core::tyres`.
