//! Benchmarks of `ostler_core::tanks`.

use divan::{Bencher, black_box};
use ostler_core::tanks::flow::{Run, run, starvation, steady_state};
use ostler_core::tanks::free_surface::free_surface;
use ostler_core::tanks::{
    Baffle, Cell, CellChain, CylinderAxis, Division, Draw, FreeSurfaceInput, Hole, Passage, Shape, Surface,
};

/// A tank of so many cells of 200 x 600 mm with two low holes in each baffle.
fn chain(cells: usize) -> CellChain {
    let hole = Hole {
        height_mm: 15.0,
        diameter_mm: 20.0,
        count: 2,
        discharge_coefficient: 0.6,
    };
    CellChain {
        height_mm: 400.0,
        cells: vec![
            Cell {
                length_mm: 200.0,
                width_mm: 600.0,
                is_vented: true
            };
            cells
        ],
        baffles: vec![Baffle { holes: vec![hole] }; cells - 1],
    }
}

const DRAW: Draw = Draw {
    cell: 0,
    rate_l_per_min: 10.0,
    pickup_height_mm: 20.0,
};

#[divan::bench]
fn level_of_a_lying_cylinder(bencher: Bencher) {
    let tank = Shape::HorizontalCylinder {
        diameter_mm: 500.0,
        length_mm: 900.0,
        axis: CylinderAxis::Lengthwise,
    };
    bencher.bench(|| black_box(&tank).level_mm(black_box(61.0)));
}

#[divan::bench]
fn free_surface_of_three_cells(bencher: Bencher) {
    let wall = |from_left_mm| Division {
        from_left_mm,
        passage: Passage::Closed,
    };
    let input = FreeSurfaceInput {
        surface: Surface::Rectangle {
            length_mm: 600.0,
            width_mm: 900.0,
        },
        divisions: vec![wall(300.0), wall(600.0)],
        density_kg_per_m3: 745.0,
        level_mm: 150.0,
        height_mm: 300.0,
        vehicle_mass_kg: 3_000.0,
    };
    bencher.bench(|| free_surface(black_box(&input)));
}

#[divan::bench(args = [2, 4, 16])]
fn starvation_of_a_chain(bencher: Bencher, cells: usize) {
    let chain = chain(cells);
    bencher.bench(|| starvation(black_box(&chain), &DRAW));
}

#[divan::bench(args = [2, 4, 16])]
fn steady_state_of_a_chain(bencher: Bencher, cells: usize) {
    let chain = chain(cells);
    let volume_l = 24.0 * cells as f64;
    bencher.bench(|| steady_state(black_box(&chain), &DRAW, volume_l));
}

#[divan::bench(args = [2, 4, 16])]
fn five_minutes_of_a_drawn_chain(bencher: Bencher, cells: usize) {
    let chain = chain(cells);
    let five_minutes = Run {
        start_levels_mm: vec![300.0; cells],
        draw: Some(DRAW),
        duration_s: 300.0,
    };
    bencher.bench(|| run(black_box(&chain), black_box(&five_minutes)));
}
