//! Flow through the holes of baffles against the draw of a pump: does its cell starve?
//!
//! A tank is a chain of cells with a common floor. Baffles between neighbours carry round holes, and a
//! pump draws from one cell. Three views of it:
//! - [`orifice`]: single holes, drain times and the levelling of two cells, in closed form;
//! - [`steady`]: the levels at which every hole passes just what the pump asks from beyond it, and the
//!   fill at which the pump's cell falls to its pickup;
//! - [`transient`]: the levels over time, by an implicit integrator. It checks the steady view and
//!   gives the time to level.
//!
//! Holes pass `Cd a sqrt(2 g h)`, integrated over strips of their height, so that a hole that is only
//! partly under the surface passes accordingly less. Flow is slow enough that surfaces stay level
//! within each cell.

pub mod orifice;
pub mod steady;
pub mod transient;

mod openings;

pub use openings::CellChain;
pub use orifice::{TwoCells, drain_time_s, orifice_flow_l_per_min, two_cell_time_s};
pub use steady::{Starvation, SteadyLevels, SteadyState, greatest_draw_l_per_min, starvation, steady_state};
pub use transient::{Levelling, Run, RunOutcome, level_out, run};

use super::check_side;
use crate::check::Check;

/// Greatest number of cells that is accepted.
pub const CELLS_MAX: usize = 32;
/// Greatest number of groups of holes in one baffle that is accepted.
pub const HOLE_GROUPS_MAX: usize = 4;
/// Greatest number of equal holes in a group that is accepted.
pub const HOLES_MAX: u32 = 10_000;

/// One cell of a tank, a box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Inner length along the vehicle.
    pub length_mm: f64,
    /// Inner width across the vehicle.
    pub width_mm: f64,
    /// Whether air reaches the space above the liquid: by an own vent, or by an air hole at the top of
    /// a wall to a cell that has one. A cell without air stops giving and taking liquid.
    pub is_vented: bool,
}

/// Equal round holes at one height in a baffle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Height of the centres above the floor; the whole hole lies between floor and roof.
    pub height_mm: f64,
    /// Diameter of each.
    pub diameter_mm: f64,
    /// Number of them, from 1 to [`HOLES_MAX`].
    pub count: u32,
    /// Discharge coefficient, over 0 up to 1. A sharp-edged hole has about 0.6 (read, a calculation
    /// page that cites a textbook).
    pub discharge_coefficient: f64,
}

/// A wall between two cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Baffle {
    /// Its holes; none in a closed wall.
    pub holes: Vec<Hole>,
}

/// A pump that draws from one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// Index of the pump's cell in the chain.
    pub cell: usize,
    /// Volume drawn per minute, greater than 0.
    pub rate_l_per_min: f64,
    /// Height of the pickup above the floor: at this level the pump draws air.
    pub pickup_height_mm: f64,
}

pub(super) fn check_discharge_coefficient(check: &mut Check, field: &str, coefficient: f64) {
    check.up_to(field, coefficient, 1.0);
}

fn check_hole(check: &mut Check, path: &str, hole: &Hole, tank_height_mm: f64) {
    check_side(check, &format!("{path}.diameter_mm"), hole.diameter_mm);
    check.finite(format_args!("{path}.height_mm"), hole.height_mm);
    if hole.height_mm - hole.diameter_mm / 2.0 < 0.0 {
        check.refuse(format_args!("{path}.height_mm"), "puts the hole below the floor");
    }
    if hole.height_mm + hole.diameter_mm / 2.0 > tank_height_mm {
        check.refuse(format_args!("{path}.height_mm"), "puts the hole above the roof");
    }
    if !(1..=HOLES_MAX).contains(&hole.count) {
        check.refuse(
            format_args!("{path}.count"),
            format!("must be between 1 and {HOLES_MAX}, is {}", hole.count),
        );
    }
    check_discharge_coefficient(
        check,
        &format!("{path}.discharge_coefficient"),
        hole.discharge_coefficient,
    );
}
