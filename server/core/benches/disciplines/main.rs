//! Benchmarks, one module per discipline.

mod plan;
mod stance;
mod tanks;
mod fuel;
mod spares;

fn main() {
    divan::main();
}
