//! Benchmarks of `ostler_core::stance`.
