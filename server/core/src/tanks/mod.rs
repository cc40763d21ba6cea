//! Tanks and containers: volume, fuel density, ullage, free surface, slosh, flow between cells,
//! wall stress, leak test and the mass to restrain.
//!
//! Every module takes plain numbers, so each serves a stored tank and a bench calculation alike.
//! All results are aids: none replaces the approval of a tank by whoever may give it.

pub mod contents;
pub mod density;
pub mod figures;
pub mod flow;
pub mod free_surface;
pub mod leak_test;
pub mod plates;
pub mod shape;
pub mod slosh;
pub mod ullage;
pub mod vent;

pub use contents::{Contents, TankPosition, contents};
pub use density::DensityBounds;
pub use figures::{TankFigures, TankQuestion, Warming, figures};
pub use flow::{Baffle, Cell, CellChain, Draw, Hole};
pub use free_surface::{Division, FreeSurface, FreeSurfaceInput, Passage, Surface};
pub use plates::{Edge, Panel, PanelResult};
pub use shape::{CylinderAxis, Shape};
pub use slosh::{SloshCell, SloshFrequencies};

use crate::check::Check;

/// Greatest side of a tank or cell that is accepted, in millimetres. A vehicle carries none longer.
pub const SIDE_MAX_MM: f64 = 20_000.0;

/// Least side, hole diameter or wall thickness that is accepted, in millimetres.
pub const SIDE_MIN_MM: f64 = 0.01;

/// Range of densities accepted for a liquid, in kilograms per cubic metre.
pub const LIQUID_DENSITY_KG_PER_M3: (f64, f64) = (400.0, 2_000.0);

fn check_side(check: &mut Check, field: &str, side_mm: f64) {
    check.between(field, side_mm, SIDE_MIN_MM, SIDE_MAX_MM);
}

fn check_liquid_density(check: &mut Check, field: &str, density_kg_per_m3: f64) {
    let (least, most) = LIQUID_DENSITY_KG_PER_M3;
    check.between(field, density_kg_per_m3, least, most);
}
