//! Benchmarks of `ostler_core::plan`.
