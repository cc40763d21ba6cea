//! Benchmarks, one module per discipline.

mod fuel;
mod loads;
mod plan;
mod spares;
mod stance;
mod tanks;

fn main() {
    divan::main();
}
