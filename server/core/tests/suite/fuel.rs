//! Checks of `ostler_core::fuel`.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

mod chance;
mod consumption;
mod convoy;
mod demo;
mod drawdown;
mod log;
mod refused;
mod requirement;
