//! Inputs that are refused, each with the path of its field.

use ostler_core::check::InvalidInput;
use ostler_core::tanks::contents::ContentsInput;
use ostler_core::tanks::density::{density_15_kg_per_m3, density_kg_per_m3};
use ostler_core::tanks::flow::{Run, drain_time_s, level_out, run, starvation, steady_state};
use ostler_core::tanks::free_surface::free_surface;
use ostler_core::tanks::plates::panel_under_pressure;
use ostler_core::tanks::slosh::slosh_frequencies;
use ostler_core::tanks::ullage::{FillInput, adr_fill, fill_limit, judge_fill};
use ostler_core::tanks::{
    Baffle, Cell, CellChain, Division, Draw, Edge, FreeSurfaceInput, Hole, Panel, Passage, Shape, SloshCell,
    Surface, TankPosition, contents,
};

const NAN: f64 = f64::NAN;

/// Asserts that an input is refused for exactly these fields.
#[track_caller]
fn assert_refused<T>(outcome: Result<T, InvalidInput>, fields: &[&str]) {
    let violations = outcome
        .err()
        .map(|refused| refused.violations)
        .unwrap_or_default();
    let found: Vec<&str> = violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(found, fields, "{violations:?}");
}

fn prism(length_mm: f64, width_mm: f64, height_mm: f64) -> Shape {
    Shape::RectangularPrism {
        length_mm,
        width_mm,
        height_mm,
    }
}

#[test]
fn shapes_without_sense() {
    assert_refused(
        prism(0.0, -1.0, NAN).capacity_l(),
        &["length_mm", "width_mm", "height_mm"],
    );
    assert_refused(prism(1e9, 500.0, 300.0).capacity_l(), &["length_mm"]);
    assert_refused(prism(500.0, 500.0, 300.0).volume_l(300.1), &["level_mm"]);
    assert_refused(prism(500.0, 500.0, 300.0).volume_l(-0.1), &["level_mm"]);
    assert_refused(prism(500.0, 500.0, 300.0).level_mm(75.1), &["volume_l"]);
    assert_refused(
        Shape::VerticalCylinder {
            diameter_mm: f64::INFINITY,
            height_mm: 0.0,
        }
        .wetted_surface_m2(NAN),
        &["diameter_mm", "height_mm"],
    );
}

#[test]
fn contents_above_the_capacity_and_without_a_place() {
    let input = ContentsInput {
        shape: prism(500.0, 500.0, 300.0),
        position: TankPosition {
            x_mm: NAN,
            y_mm: 0.0,
            floor_z_mm: 500.0,
        },
        density_kg_per_m3: 0.0,
        shell_mass_kg: -3.0,
        volume_l: Some(80.0),
    };
    assert_refused(
        contents(&input),
        &["position.x_mm", "density_kg_per_m3", "shell_mass_kg", "volume_l"],
    );
    let flat = ContentsInput {
        shape: prism(500.0, 0.0, 300.0),
        volume_l: None,
        ..input
    };
    assert_eq!(contents(&flat).unwrap_err().violations[0].field, "shape.width_mm");
}

#[test]
fn fuels_and_fills_without_sense() {
    assert_refused(
        density_kg_per_m3(600.0, NAN),
        &["density_15_kg_per_m3", "temperature_c"],
    );
    assert_refused(density_15_kg_per_m3(400.0, 20.0), &["measured_kg_per_m3"]);
    let input = FillInput {
        capacity_l: 0.0,
        density_15_kg_per_m3: 745.0,
        fill_temperature_c: 30.0,
        hottest_temperature_c: 20.0,
        greatest_fill_fraction: 1.01,
    };
    assert_refused(
        fill_limit(&input),
        &["capacity_l", "hottest_temperature_c", "greatest_fill_fraction"],
    );
    let sound = FillInput {
        capacity_l: 100.0,
        hottest_temperature_c: 50.0,
        greatest_fill_fraction: 0.98,
        ..input
    };
    assert_refused(judge_fill(&sound, 100.1), &["volume_l"]);
    assert_refused(
        adr_fill(700.0, 745.0, 51.0),
        &["density_50_kg_per_m3", "fill_temperature_c"],
    );
}

#[test]
fn free_surfaces_without_sense() {
    let input = FreeSurfaceInput {
        surface: Surface::Rectangle {
            length_mm: 600.0,
            width_mm: 800.0,
        },
        divisions: vec![
            Division {
                from_left_mm: 500.0,
                passage: Passage::Closed,
            },
            Division {
                from_left_mm: 400.0,
                passage: Passage::Closed,
            },
            Division {
                from_left_mm: 800.0,
                passage: Passage::Open,
            },
        ],
        density_kg_per_m3: 745.0,
        level_mm: 310.0,
        height_mm: 300.0,
        vehicle_mass_kg: 0.0,
    };
    assert_refused(
        free_surface(&input),
        &[
            "level_mm",
            "vehicle_mass_kg",
            "divisions[1].from_left_mm",
            "divisions[2].from_left_mm",
        ],
    );
    let flat = FreeSurfaceInput {
        surface: Surface::Rectangle {
            length_mm: 600.0,
            width_mm: 0.0,
        },
        divisions: vec![],
        level_mm: 100.0,
        vehicle_mass_kg: 3_000.0,
        ..input
    };
    assert_refused(free_surface(&flat), &["surface.width_mm"]);
    let round = FreeSurfaceInput {
        surface: Surface::Circle { diameter_mm: 500.0 },
        divisions: vec![Division {
            from_left_mm: 250.0,
            passage: Passage::Closed,
        }],
        ..flat
    };
    assert_refused(free_surface(&round), &["divisions"]);
}

#[test]
fn slosh_and_plates_without_sense() {
    let deep = SloshCell {
        length_mm: 500.0,
        width_mm: 0.0,
        height_mm: 300.0,
        depth_mm: 301.0,
    };
    assert_refused(slosh_frequencies(&deep, 0), &["width_mm", "depth_mm", "modes"]);
    let panel = Panel {
        length_mm: 0.0,
        width_mm: 300.0,
        thickness_mm: -2.0,
        modulus_gpa: 0.0,
        yield_mpa: Some(NAN),
        edge: Edge::Clamped,
    };
    assert_refused(
        panel_under_pressure(&panel, -5.0),
        &[
            "length_mm",
            "thickness_mm",
            "modulus_gpa",
            "yield_mpa",
            "pressure_kpa",
        ],
    );
}

fn chain(hole: Hole) -> CellChain {
    let cell = Cell {
        length_mm: 300.0,
        width_mm: 600.0,
        is_vented: true,
    };
    CellChain {
        height_mm: 400.0,
        cells: vec![cell; 2],
        baffles: vec![Baffle { holes: vec![hole] }],
    }
}

const SOUND_HOLE: Hole = Hole {
    height_mm: 15.0,
    diameter_mm: 20.0,
    count: 2,
    discharge_coefficient: 0.6,
};

#[test]
fn chains_without_sense() {
    let draw = Draw {
        cell: 0,
        rate_l_per_min: 10.0,
        pickup_height_mm: 20.0,
    };
    let low = Hole {
        height_mm: 5.0,
        count: 0,
        discharge_coefficient: 0.0,
        ..SOUND_HOLE
    };
    assert_refused(
        starvation(&chain(low), &draw),
        &[
            "chain.baffles[0].holes[0].height_mm",
            "chain.baffles[0].holes[0].count",
            "chain.baffles[0].holes[0].discharge_coefficient",
        ],
    );
    let high = Hole {
        height_mm: 395.0,
        ..SOUND_HOLE
    };
    assert_refused(
        starvation(&chain(high), &draw),
        &["chain.baffles[0].holes[0].height_mm"],
    );
    let mut flat = chain(SOUND_HOLE);
    flat.cells[1].width_mm = 0.0;
    assert_refused(starvation(&flat, &draw), &["chain.cells[1].width_mm"]);
    let empty = CellChain {
        height_mm: 400.0,
        cells: vec![],
        baffles: vec![],
    };
    assert_refused(starvation(&empty, &draw), &["chain.cells"]);
    let crowded = CellChain {
        baffles: vec![],
        ..chain(SOUND_HOLE)
    };
    assert_refused(starvation(&crowded, &draw), &["chain.baffles"]);
}

#[test]
fn draws_and_levels_without_sense() {
    let draw = Draw {
        cell: 2,
        rate_l_per_min: 0.0,
        pickup_height_mm: 401.0,
    };
    assert_refused(
        starvation(&chain(SOUND_HOLE), &draw),
        &["draw.cell", "draw.rate_l_per_min", "draw.pickup_height_mm"],
    );
    let sound = Draw {
        cell: 0,
        rate_l_per_min: 10.0,
        pickup_height_mm: 20.0,
    };
    assert_refused(steady_state(&chain(SOUND_HOLE), &sound, 144.1), &["volume_l"]);
    let deep = Run {
        start_levels_mm: vec![401.0, NAN],
        draw: None,
        duration_s: 0.0,
    };
    assert_refused(
        run(&chain(SOUND_HOLE), &deep),
        &["duration_s", "start_levels_mm[0]", "start_levels_mm[1]"],
    );
    assert_refused(
        level_out(&chain(SOUND_HOLE), &[100.0], 1.0, 10.0),
        &["start_levels_mm"],
    );
    assert_refused(
        level_out(&chain(SOUND_HOLE), &[100.0, 50.0], 0.0, 10.0),
        &["tolerance_mm"],
    );
    assert_refused(
        drain_time_s(0.0, -1.0, 12.0, 1.5),
        &["discharge_coefficient", "area_m2", "head_mm"],
    );
}
