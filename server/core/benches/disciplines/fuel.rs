//! Benchmarks of `ostler_core::fuel`.
