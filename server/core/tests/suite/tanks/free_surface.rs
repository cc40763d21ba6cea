//! Free surface and subdivision.

use ostler_core::tanks::free_surface::virtual_rise_mm;
use ostler_core::tanks::{Division, FreeSurfaceInput, Passage, Surface, free_surface::free_surface};
use proptest::prelude::*;

use super::assert_close;

fn petrol_tank(divisions: Vec<Division>) -> FreeSurfaceInput {
    FreeSurfaceInput {
        surface: Surface::Rectangle {
            length_mm: 600.0,
            width_mm: 800.0,
        },
        divisions,
        density_kg_per_m3: 745.0,
        level_mm: 150.0,
        height_mm: 300.0,
        vehicle_mass_kg: 3_000.0,
    }
}

fn wall(from_left_mm: f64, passage: Passage) -> Division {
    Division {
        from_left_mm,
        passage,
    }
}

/// Displacement 7600 t, free-surface moment 1250 t m: correction 0.16447 m, and GM 1.02 m becomes
/// 0.85553 m. Source: tutorial 4 of a maritime academy's stability course (MA2025), read.
#[test]
fn a_published_ship_is_corrected_as_published() {
    let rise_mm = virtual_rise_mm(1_250e3, 7_600e3).unwrap();
    assert!((rise_mm - 164.47).abs() <= 0.005);
    assert!((1.02 - rise_mm / 1e3 - 0.855_53).abs() <= 5e-6);
}

/// Ship of 8153.75 t, tank 15 x 10 x 2 m pumped from full of salt water to half, 8000 t left. The
/// problem was read in Ship Stability for Masters and Mates, page 195; its answer page was not seen, and
/// 0.1602 m is our own calculation.
#[test]
fn a_textbook_tank_pumped_to_half() {
    let input = FreeSurfaceInput {
        surface: Surface::Rectangle {
            length_mm: 15_000.0,
            width_mm: 10_000.0,
        },
        divisions: vec![],
        density_kg_per_m3: 1_025.0,
        level_mm: 1_000.0,
        height_mm: 2_000.0,
        vehicle_mass_kg: 8_000e3,
    };
    assert!((free_surface(&input).unwrap().virtual_rise_mm - 160.2).abs() <= 0.05);
}

/// Petrol of 745 kg/m3 in a tank 0.8 m wide and 0.6 m long on a vehicle of 3000 kg; own calculation.
#[test]
fn a_closed_centre_wall_leaves_a_quarter() {
    let open = free_surface(&petrol_tank(vec![])).unwrap();
    assert!((open.moment_kg_m - 19.07).abs() <= 0.005);
    assert!((open.virtual_rise_mm - 6.36).abs() <= 0.005);
    let divided = free_surface(&petrol_tank(vec![wall(400.0, Passage::Closed)])).unwrap();
    assert!((divided.moment_kg_m - 4.77).abs() <= 0.005);
    assert_close(divided.saved_fraction, 0.75, 1e-12);
}

/// `n` equal cells side by side divide the moment by `n` squared. Source: Ship Stability for Masters and
/// Mates, pages 193 to 195, read.
#[test]
fn equal_cells_divide_by_their_number_squared() {
    let undivided = free_surface(&petrol_tank(vec![])).unwrap();
    for cells in 2..=8_u32 {
        let walls = (1..cells)
            .map(|index| wall(800.0 * f64::from(index) / f64::from(cells), Passage::Closed))
            .collect();
        let divided = free_surface(&petrol_tank(walls)).unwrap();
        assert_close(
            divided.second_moment_m4,
            undivided.second_moment_m4 / f64::from(cells * cells),
            1e-9,
        );
    }
}

#[test]
fn an_open_baffle_divides_nothing() {
    let undivided = free_surface(&petrol_tank(vec![])).unwrap();
    let baffled = free_surface(&petrol_tank(vec![wall(400.0, Passage::Open)])).unwrap();
    assert_eq!(baffled, undivided);
}

/// IMO 2008 Intact Stability Code 3.3.2: correct when filled below 98 percent; read.
#[test]
fn a_pressed_up_tank_has_no_virtual_rise() {
    let at = |level_mm| {
        free_surface(&FreeSurfaceInput {
            level_mm,
            ..petrol_tank(vec![])
        })
        .unwrap()
    };
    assert!(at(293.9).virtual_rise_mm > 0.0);
    assert_eq!(at(294.0).virtual_rise_mm, 0.0);
    assert_eq!(at(0.0).virtual_rise_mm, 0.0);
}

/// Second moment of a disc, `pi d^4 / 64`; standard geometry.
#[test]
fn a_round_surface_has_the_moment_of_a_disc() {
    let found = Surface::Circle { diameter_mm: 1_000.0 }
        .second_moment_m4()
        .unwrap();
    assert_close(found, std::f64::consts::PI / 64.0, 1e-12);
}

proptest! {
    #[test]
    fn a_closed_wall_never_raises_the_free_surface(
        mut places in prop::collection::vec(1.0..799.0_f64, 1..6),
        passages in prop::collection::vec(prop::bool::ANY, 6),
    ) {
        places.sort_by(f64::total_cmp);
        places.dedup();
        let walls: Vec<Division> = places
            .iter()
            .zip(&passages)
            .map(|(&place, &closed)| wall(place, if closed { Passage::Closed } else { Passage::Open }))
            .collect();
        let mut before = free_surface(&petrol_tank(vec![])).unwrap().second_moment_m4;
        for count in 1..=walls.len() {
            let found = free_surface(&petrol_tank(walls[..count].to_vec())).unwrap();
            prop_assert!(found.second_moment_m4 <= before * (1.0 + 1e-12));
            prop_assert!((0.0..1.0).contains(&found.saved_fraction));
            before = found.second_moment_m4;
        }
    }

    #[test]
    fn mirrored_walls_give_the_same_moment(place in 1.0..799.0_f64) {
        let left = free_surface(&petrol_tank(vec![wall(place, Passage::Closed)])).unwrap();
        let right = free_surface(&petrol_tank(vec![wall(800.0 - place, Passage::Closed)])).unwrap();
        prop_assert!((left.second_moment_m4 - right.second_moment_m4).abs() <= 1e-12);
    }

    #[test]
    fn a_heavier_vehicle_never_rises_more(one in 500.0..9_000.0_f64, other in 500.0..9_000.0_f64) {
        let at = |vehicle_mass_kg| {
            free_surface(&FreeSurfaceInput { vehicle_mass_kg, ..petrol_tank(vec![]) }).unwrap().virtual_rise_mm
        };
        prop_assert!(at(one.max(other)) <= at(one.min(other)));
    }
}
