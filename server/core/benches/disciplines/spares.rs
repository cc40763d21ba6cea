//! Benchmarks of `ostler_core::spares`.
