//! Benchmarks, one module per discipline.

mod fit;
mod fuel;
mod loads;
mod plan;
mod rules;
mod spares;
mod stance;
mod stowage;
mod tanks;

fn main() {
    divan::main();
}
