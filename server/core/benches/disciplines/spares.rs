//! Benchmarks of `ostler_core::spares`.

use divan::{Bencher, black_box};
use ostler_core::check::InvalidInput;
use ostler_core::spares::best::best_kit;
use ostler_core::spares::cover::cover;
use ostler_core::spares::kit::{Spare, frontier};

/// Spares of all sorts, the same on every run.
fn spares(count: u32) -> Vec<Spare> {
    (0..count)
        .map(|index| Spare {
            name: format!("spare {index}"),
            mean: 0.05 + f64::from(index * 7 % 23) / 10.0,
            mass_kg: 0.5 + f64::from(index * 5 % 31),
            importance: 1.0,
            held: 0,
            most: 20,
        })
        .collect()
}

#[divan::bench(args = [0.5, 5.0, 50.0, 500.0])]
fn cover_of_one_spare(mean: f64) -> Result<f64, InvalidInput> {
    Ok(cover(black_box(mean), black_box(mean as u32))?.expected_backorders)
}

/// Frontier to a budget of 20 kg for every spare: how it grows with their number.
#[divan::bench(args = [10, 100, 1_000])]
fn efficient_frontier(bencher: Bencher, count: u32) {
    let spares = spares(count);
    bencher.bench_local(|| frontier(black_box(&spares), 20.0 * f64::from(count)));
}

/// Best kit of 100 kg in half-kilogram steps, exact where the case is small enough (100 spares and less).
#[divan::bench(args = [10, 100, 1_000])]
fn best_kit_of_100_kg(bencher: Bencher, count: u32) {
    let spares = spares(count);
    bencher.bench_local(|| best_kit(black_box(&spares), 100.0, 0.5));
}
