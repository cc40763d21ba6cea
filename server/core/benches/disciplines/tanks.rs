//! Benchmarks of `ostler_core::tanks`.
