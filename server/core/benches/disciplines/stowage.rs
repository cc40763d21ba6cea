//! Benchmarks of `ostler_core::stowage`: random convoys of 4 to 6 vehicles with 120 items.

#[path = "../../examples/stowage/convoy.rs"]
mod convoy;

use convoy::random_convoy;
use divan::{Bencher, black_box};
use ostler_core::stowage::{SolveOptions, Unwatched, margins, solve};

/// Stows with a budget of steps; the first step brings the bound with it.
#[divan::bench(args = [(4, 1), (4, 100_000), (6, 1), (6, 100_000), (6, 1_000_000)], sample_count = 5)]
fn stow_120_items(bencher: Bencher, (vehicles, steps_max): (usize, u64)) {
    let convoy = random_convoy(1, vehicles, 120);
    let options = SolveOptions {
        steps_max,
        ..SolveOptions::default()
    };
    bencher.bench_local(|| solve(black_box(&convoy), &options, &Unwatched));
}

/// Holds a placement against every limit.
#[divan::bench]
fn margins_of_120_items(bencher: Bencher) {
    let convoy = random_convoy(1, 6, 120);
    let places: Vec<_> = convoy.items.iter().filter_map(|item| item.now).collect();
    let mut stowed = convoy.clone();
    stowed.groups.clear();
    stowed.items.retain(|item| item.now.is_some());
    bencher.bench_local(|| margins(black_box(&stowed), &places));
}
